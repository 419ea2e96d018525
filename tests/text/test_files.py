"""Files in and out: what is read is never written, another's file stays, devices live on."""

import os
import stat
import threading

import pytest
from interpass.text import files
from interpass.text.errors import CaseError
from interpass.text.files import FileError, case_text, csv_text, replace_file


@pytest.fixture(autouse=True)
def nothing_read():
    files.forget_inputs()


def spellings(path):
    """Other names of one file: through a link, a hard link, a folder and back."""
    folder = path.parent
    (folder / "link").symlink_to(path)
    (folder / "hard").hardlink_to(path)
    (folder / "sub").mkdir()
    (folder / "way").symlink_to(folder, target_is_directory=True)
    yield path
    yield folder / "link"
    yield folder / "hard"
    yield folder / "sub" / ".." / path.name
    yield folder / "way" / path.name


@pytest.mark.parametrize("read", [case_text, csv_text])
def test_what_was_read_is_not_written_under_any_name(tmp_path, read):
    path = tmp_path / "input.toml"
    path.write_text("the work of an evening")
    for name in spellings(path):
        for read_as in (path, tmp_path / "hard"):
            files.forget_inputs()
            read(read_as)
            with pytest.raises(FileError, match="this command reads it"):
                replace_file(name, b"new", force=True)
    assert path.read_text() == "the work of an evening"


def test_an_input_that_was_saved_again_meanwhile_is_still_an_input(tmp_path):
    path = tmp_path / "input.toml"
    path.write_text("as read")
    case_text(path)
    (tmp_path / "new").write_text("as an editor saves it")
    (tmp_path / "new").replace(path)
    with pytest.raises(FileError, match="reads it"):
        replace_file(path, b"new", force=True)


@pytest.mark.parametrize("name", ["a.csv", "a.toml", "a.json", "a.html", "a.png", "a"])
@pytest.mark.parametrize(
    "theirs", [b"my list of joints\n", b"interpass_max = 3\n", b"\0\1", b'{"schema": 2}']
)
def test_a_file_of_somebody_else_stays_unless_forced(tmp_path, name, theirs):
    path = tmp_path / name
    path.write_bytes(theirs)
    with pytest.raises(FileError, match=r"did not write.*--force"):
        replace_file(path, b"new")
    assert path.read_bytes() == theirs
    replace_file(path, b"new", force=True)
    assert path.read_bytes() == b"new"
    replace_file(path, b"new")  # the same again
    path.write_bytes(b"")
    replace_file(path, b"newer")  # there was nothing in it


def test_permissions_are_kept_and_a_read_only_file_stays(tmp_path):
    path = tmp_path / "a.csv"
    for mode in (0o600, 0o640, 0o664):
        path.write_bytes(b"old")
        path.chmod(mode)
        replace_file(path, b"new", force=True)
        assert stat.S_IMODE(path.stat().st_mode) == mode
    path.chmod(0o444)
    with pytest.raises(FileError, match="read-only"):
        replace_file(path, b"newer", force=True)
    assert path.read_bytes() == b"new"


def test_a_link_stays_a_link(tmp_path):
    target, link = tmp_path / "there" / "a.csv", tmp_path / "a.csv"
    target.parent.mkdir()
    link.symlink_to(target)
    replace_file(link, b"new")  # points at nothing yet
    target.chmod(0o600)
    replace_file(link, b"newer", force=True)
    assert link.is_symlink()
    assert target.read_bytes() == b"newer"
    assert stat.S_IMODE(target.stat().st_mode) == 0o600


def test_a_device_is_written_to_and_stays_a_device():
    replace_file(files.Path(os.devnull), b"lost")
    assert stat.S_ISCHR(os.stat(os.devnull).st_mode)  # noqa: PTH116
    with pytest.raises(OSError, match="No space left"):
        replace_file(files.Path("/dev/full"), b"too much")


def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(OSError, match="pipe"):
        replace_file(pipe, b"nobody reads")
    end = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    replace_file(pipe, b"somebody reads")
    assert os.read(end, 100) == b"somebody reads"
    os.close(end)
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_pipe_with_a_writer_is_read_to_its_end(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)

    def write():
        with pipe.open("wb") as stream:
            for part in (b"a" * 70_000, b"b"):
                stream.write(part)

    writer = threading.Thread(target=write)
    writer.start()
    assert csv_text(pipe) == "a" * 70_000 + "b"
    writer.join()


@pytest.mark.parametrize("is_open", [False, True], ids=["no writer", "silent writer"])
def test_a_pipe_that_gives_nothing_is_told(tmp_path, monkeypatch, is_open):
    monkeypatch.setattr(files, "PATIENCE", 0.2)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    ends = []
    if is_open:
        ends = [os.open(pipe, os.O_RDONLY | os.O_NONBLOCK), os.open(pipe, os.O_WRONLY)]
    with pytest.raises(CaseError, match="nothing came from it"):
        case_text(pipe)
    for end in ends:
        os.close(end)


@pytest.mark.parametrize(
    "path", ["/dev/zero", "/proc/kcore", "/proc/self/mem", "/dev/tty"]
)
def test_files_without_end_are_told(path, monkeypatch):
    monkeypatch.setattr(files, "PATIENCE", 0.2)
    if not os.path.exists(path):  # noqa: PTH110
        pytest.skip("not on this system")
    with pytest.raises(CaseError, match=r"more than 1 MB|cannot be read|nothing came"):
        case_text(path)


def test_a_case_with_lines_of_ours_in_it_is_the_users(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text(f"# {files.MADE_BY}\n[arc]\nefficiency = 0.7\n")
    replace_file(path, b"lines of another fit")
    path.write_text(f"# {files.MADE_BY}\n[arc]\nefficiency = 0.7\n[[pass]]\n")
    with pytest.raises(FileError):
        replace_file(path, b"lines of another fit")


def test_links_that_go_in_a_circle_are_told(tmp_path):
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(CaseError, match="cannot be read: Too many levels"):
        case_text(tmp_path / "a")
    with pytest.raises(OSError, match="Too many levels"):
        replace_file(tmp_path / "a", b"new")
