"""Checks that stand in the tests already: which test, what of it, and who says so."""

from typing import NamedTuple

from closed_forms import test_arcs as arcs
from closed_forms import test_bodies as exact
from closed_forms import test_plates as plates
from closed_forms import test_sources as sources
from heat import test_holding as holding
from heat import test_kernels as kernels
from heat import test_near_arc as near
from heat import test_ring as ring
from heat import test_waits as waits
from joint import test_arc as arc
from joint import test_places as places
from physics import test_films as surfaces
from physics import test_handbook as cooling
from physics import test_metals as metals
from physics import test_moving_source as rosenthal
from trade import test_pipes as catalogue
from trade import test_practice as practice

from evidence.check import make_check
from evidence.watch import compared

COMPUTED, PUBLISHED, MEMORY = "computed", "published", "from memory"
RESTATED, MAKER, PRACTICE = "published restatement", "maker page", "common practice"
ITSELF = "the program against itself"
FEM_3D = "scikit-fem 12, three dimensions (tests/reference/fem_near)"


class Listed(NamedTuple):
    """A check made of comparisons of one test."""

    what: str
    test: object
    source: str
    standing: str
    unit: str = ""
    scale: str | float = "each"  # see `check.scale_of`
    pick: tuple[int, ...] | None = None  # comparisons of each call; None is all
    quick: bool = True


CLOSED_FORMS = (
    Listed("roots and amplitudes of slab and cylinder, six Biot numbers",
           exact.test_one_term_coefficients_as_printed, "Cengel, Table 4-2", PUBLISHED),
    Listed("the same to six decimals", exact.test_one_term_coefficients_to_six_decimals,
           "tests/data/eigenvalues.csv, bracketed roots", COMPUTED),
    Listed("full series at centre and surface",
           exact.test_full_series_at_centre_and_surface, "summed apart", COMPUTED),
    Listed("wall of a pipeline that fills with hot oil",
           exact.test_pipeline_wall_of_the_textbook, "Incropera, Examples 5.5 and 5.6",
           MEMORY, "degC", 80.0, (2,)),
    Listed("fin with a cooled tip", exact.test_finite_fin_is_the_textbook_cosh,
           "Incropera, Table 3.4", MEMORY),
    Listed("half space after a step", exact.test_semi_infinite_step,
           "error function, worked out apart", COMPUTED),
    Listed("pulse of heat round a pipe, eight rises", sources.test_ring_pulse_table,
           "worked out apart", COMPUTED, "K"),
    Listed("ring source as the sum of its pulses",
           sources.test_ring_source_is_the_sum_of_its_pulses, "scipy quadrature",
           COMPUTED, "K", "largest"),
    Listed("arc round a pipe", sources.test_travelling_arc_against_quadrature,
           "scipy quadrature of another form", COMPUTED, "K", "largest"),
)  # fmt: skip

SOLVER = (
    Listed("solid cylinder cooling in air", kernels.test_solid_cylinder_cools_as_its_series,
           "series, Incropera ch. 5", COMPUTED, "K", 100.0, quick=False),
    Listed("pipe wall cooling in air", kernels.test_pipe_wall_cools_as_its_series,
           "series of Bessel functions", COMPUTED, "K", 100.0),
    Listed("thin shell cooling on either face", kernels.test_thin_shell_of_great_radius_is_a_slab,
           "slab series, Incropera ch. 5", COMPUTED, "K", 100.0),
    Listed("pulse of heat round a long pipe, 30 to 300 s",
           kernels.test_ring_pulse_on_a_long_pipe, "Gaussian with loss", COMPUTED, "K",
           "largest", quick=False),
    Listed("arc round a long pipe, even, heating and cooling",
           kernels.test_arc_round_a_ring_of_a_long_pipe, "Green's function with loss",
           COMPUTED, "K", "largest", quick=False),
    Listed("rate at which a gripped lump cools, share of the girth 1 and 0.16",
           holding.test_gripped_lump_cools_exponentially, "lump, Incropera ch. 5",
           COMPUTED, "1/s", quick=False),
    Listed("heated pipe at rest", kernels.test_heated_pipe_ends_as_a_fin,
           "fin, Incropera Table 3.4", COMPUTED, "K", "largest", (0,)),
    Listed("pipe, clearance and socket in series",
           kernels.test_steady_wall_with_a_clearance_adds_resistances,
           "logarithms, Incropera 3.3", COMPUTED, "K", "span"),
    Listed("two metals along the pipe",
           kernels.test_unlike_layers_along_the_axis_conduct_in_series,
           "half cells in series, Patankar 4.2-3", COMPUTED, "K", "span"),
    Listed("two metals through the wall",
           kernels.test_unlike_layers_through_the_wall_conduct_in_series,
           "logarithms, Incropera 3.3", COMPUTED, "K", "span"),
    Listed("travelling arc on a thin pipe, four angles, arc on and 30 s after",
           ring.test_travelling_arc_on_thin_pipe_is_the_closed_form,
           "Green's function round the ring, Carslaw and Jaeger", COMPUTED, "K",
           "largest", quick=False),
    Listed("mean round the ring under a travelling arc",
           ring.test_mean_round_the_ring_is_the_ring_source, "ring source", COMPUTED, "K", quick=False),
)  # fmt: skip

ORDER = (
    Listed("order in space, nonlinear metal, graded cells",
           kernels.test_second_order_in_space, "exact mode of an insulated cylinder",
           COMPUTED, quick=False),
    Listed("order in time", kernels.test_second_order_in_time,
           "the same, steps 16 times finer", COMPUTED, quick=False),
    Listed("order round the ring, 24 to 192 cells", ring.test_order_in_the_ring_is_two,
           "closed form of a travelling arc", COMPUTED, quick=False),
)  # fmt: skip

NEAR_ARC = (
    Listed("moving source in thick and thin plate", rosenthal.test_table_of_both_plates,
           "Rosenthal's formulas, worked out apart", COMPUTED, "degC"),
    Listed("images through a wall", rosenthal.test_images_equal_waves_across_the_wall,
           "cosine series with Bessel functions", COMPUTED, "K"),
    Listed("heat left behind the arc",
           rosenthal.test_every_section_behind_the_arc_holds_its_energy,
           "power / speed", COMPUTED, "J/m", quick=False),
    Listed("hottest of the bore as the arc goes by, cells of 1 and 0.5 mm",
           near.test_finite_elements_close_to_the_arc, FEM_3D, COMPUTED, "degC", "each",
           (0,), quick=False),
    Listed("depth to which the pipe melts", near.test_finite_elements_close_to_the_arc,
           FEM_3D, COMPUTED, "mm", "each", (1,), quick=False),
    Listed("hottest of the root corner, above the solidus",
           near.test_finite_elements_close_to_the_arc, FEM_3D, COMPUTED, "K", 1377.0,
           (2,), quick=False),
    Listed("peak beside a weld", plates.test_adams_peak_as_printed,
           "worked example of Adams's equation", PUBLISHED, "degC", "each", (0,)),
    Listed("width of the heat affected zone, four welds",
           plates.test_adams_haz_width_as_printed, "the same example", PUBLISHED, "mm",
           "each", (0,)),
    Listed("cooling rate at 550 degC", plates.test_adams_cooling_rate_of_the_textbook,
           "exercise of welding textbooks", MEMORY, "K/s", "each", (1,)),
    Listed("t8/5 thick and thin, transition, tee joint",
           cooling.test_t85_of_the_standard, "EN 1011-2, Annex D", MEMORY),
    Listed("t8/5 by the moving source on the standard's own steel",
           cooling.test_standard_agrees_with_rosenthal_on_its_own_steel,
           "EN 1011-2, Annex D", MEMORY, "s"),
    Listed("heat input, 300 A, 20 V, 2.5 mm/s",
           arc.test_heat_input_of_a_printed_exercise, "printed exercise", PUBLISHED, "J/m"),
    Listed("arc energy and heat input of four arcs", arc.test_heat_input,
           "EN 1011-1, k = 0.6, by hand", RESTATED, "kJ/mm"),
    Listed("shares of a Gaussian arc round the ring",
           arcs.test_weights_equal_quadrature_of_the_wrapped_gaussian,
           "scipy quadrature of its Fourier series", COMPUTED, "", "largest"),
)  # fmt: skip

SURFACES = (
    Listed("air, argon, nitrogen, helium: five properties, 200 to 2000 K",
           surfaces.test_gas_table_is_coolprop_everywhere, "CoolProp 8", COMPUTED, quick=False),
    Listed("film correlations, still air, fan, purge", surfaces.test_correlations_equal_ht,
           "library ht 1.2", COMPUTED),
    Listed("film and radiation of pipes, 60 to 800 degC",
           surfaces.test_films_of_horizontal_pipe, "ht and CoolProp directly", COMPUTED,
           "W/m²/K"),
    Listed("steam pipe in a room", surfaces.test_textbook_steam_pipe,
           "Incropera, Example 9.4", MEMORY, "W/m"),
    Listed("plenty of purge gas", surfaces.test_purge_in_plenty_is_limited_by_its_film,
           "library ht, Hausen", COMPUTED, "W/m²/K"),
    Listed("gas in the clearance, air and argon",
           surfaces.test_gas_in_the_socket_clearance, "CoolProp 8", COMPUTED, "W/m²/K"),
    Listed("radiation across the clearance", surfaces.test_radiation_across_the_clearance,
           "by hand; library ht", COMPUTED, "W/m²/K"),
)  # fmt: skip

METALS = (
    Listed("carbon and stainless steel, 20 to 1200 degC",
           metals.test_curves_of_en_1993_1_2,
           "EN 1993-1-2, 3.4.1; stainless, Annex C, from memory", RESTATED),
    Listed("304L and 316L, 20 to 1200 degC", metals.test_curves_of_kim,
           "Kim 1975, ANL-75-55", RESTATED),
    Listed("liquid 316L", metals.test_liquid_316L, "Kim 1975, ANL-75-55", RESTATED),
    Listed("316L against a second source", metals.test_316L_agrees_with_a_second_source,
           "Mills 2002, type 316", MEMORY),
    Listed("heat of carbon steel, 20 to 1200 degC",
           metals.test_integrals_of_carbon_steel, "EN 1993-1-2, integrated", RESTATED,
           "J/kg"),
    Listed("the same through the peak at 735 degC, as tabulated",
           metals.test_table_holds_the_peak_of_carbon_steel, "scipy quadrature", COMPUTED,
           "J/kg"),
    Listed("melting ranges of five alloys", metals.test_melting_ranges,
           "ASM Specialty Handbook; data pages for 625", RESTATED, "degC"),
    Listed("625, 2205 and copper", metals.test_tabulated_alloys,
           "mill data; Incropera, Table A.1", MEMORY),
)  # fmt: skip

SIZES = (
    Listed("pipe outside and wall, all sizes and ten schedules",
           catalogue.test_pipe_sizes_against_fluids,
           "library fluids: ASME B36.10M-2004, B36.19M-2004", PUBLISHED, "m"),
    Listed("socket walls as multiples of the pipe's", catalogue.test_identities_of_b16_11,
           "ASME B16.11: 1.25 t, 1.09 t, t", MAKER),
    Listed("radial clearance of the socket",
           catalogue.test_clearance_and_extent_of_b16_11, "ASME B16.11, printed rows",
           COMPUTED, "m"),
    Listed("class 3000 walls on a second page", catalogue.test_b16_11_on_a_second_page,
           "ASME B16.11", MAKER, "mm"),
    Listed("walls of rating pipe in NPS 1/8 to 3/8", catalogue.test_rating_walls,
           "ASME B16.11", MAKER, "mm"),
    Listed("measuring place, 4 t from the weld",
           places.test_standard_place_is_four_walls_away, "AS ISO 13916, 4.1", PUBLISHED,
           "mm"),
    Listed("metres of wire in a kilogram", practice.test_wire_masses, "maker page", MAKER),
    Listed("preheat, thirteen rows of two editions", practice.test_preheat_rows,
           "ASME B31.3 Table 330.1.1", RESTATED, "degC"),
)  # fmt: skip

ENERGY = (
    Listed("heat kept by an insulated body, 300 to 2000 K",
           kernels.test_heat_is_kept_whatever_the_field_and_the_step, "first law",
           COMPUTED, "J", "each", (0,)),
    Listed("arc's power x time, losses booked by kind",
           kernels.test_arc_puts_in_power_times_time, "first law", COMPUTED, "J"),
    Listed("through 735 degC and through melting, steps to 60 s",
           kernels.test_no_step_jumps_over_the_peak_or_the_melting, "enthalpy curve",
           COMPUTED, "K", quick=False),
    Listed("arc's heat welded in halves, quarters, with tie-in",
           ring.test_heat_is_accounted_for_however_the_ring_is_welded, "first law",
           COMPUTED, "J", "each", (0,), quick=False),
)  # fmt: skip

ANOTHER_WAY = (
    Listed("case in inches and degF", waits.test_case_in_inches_is_the_case_in_millimetres,
           ITSELF, COMPUTED, "", "largest", (0, 1)),
    Listed("body turned end for end", kernels.test_mirrored_body_gives_the_mirrored_answer,
           ITSELF, COMPUTED, "K", "span"),
    Listed("clockwise instead of counter-clockwise",
           waits.test_clockwise_is_the_mirror_of_counter_clockwise, ITSELF, COMPUTED, "",
           "largest", quick=False),
    Listed("start turned by whole cells, wait and whole ring",
           waits.test_ring_turned_by_whole_cells_is_the_turned_ring, ITSELF, COMPUTED, "",
           "largest", quick=False),
    Listed("start turned by part of a cell",
           ring.test_start_between_two_cells_shifts_the_answer, ITSELF, COMPUTED, "K",
           "span", quick=False),
    Listed("even heat on a ring of 2 to 48 is axisymmetric",
           kernels.test_even_ring_is_the_axisymmetric_answer, ITSELF, COMPUTED, "K"),
    Listed("a wait of 60 s in two and three parts",
           waits.test_split_wait_is_the_whole_wait, ITSELF, COMPUTED, "K", "span"),
)  # fmt: skip

GROUPS = {
    "Closed forms, as formulas": CLOSED_FORMS,
    "Solver against closed forms": SOLVER,
    "Order of accuracy": ORDER,
    "Near the arc, heat input": NEAR_ARC,
    "Air, gases, radiation": SURFACES,
    "Metals": METALS,
    "Sizes and standards": SIZES,
    "Energy is accounted for": ENERGY,
    "The same answer another way": ANOTHER_WAY,
}


def run(group, listed):
    """Run the test of one listed check and sum it up."""
    found = compared(listed.test, listed.pick)
    file = listed.test.__module__.replace(".", "/")
    where = f"{file}.py::{listed.test.__name__}"
    return make_check(
        found, group, listed.what, listed.source, listed.standing, listed.unit,
        listed.scale, where,
    )  # fmt: skip


def listed_checks(*, quick=False):
    """Every check of every group, or the quick ones."""
    return [
        run(group, listed)
        for group, members in GROUPS.items()
        for listed in members
        if listed.quick or not quick
    ]
