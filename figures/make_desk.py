"""Pictures of the desk, taken in Chromium: the joint, a weld, a phone, the presets.

    python figures/make_desk.py [FOLDER]

Without a folder only ``desk.png`` is made, in the folder of this script; with one, all
of them go there. Needs Debian's chromium and chromium-driver.
"""

import io
import signal
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "tests"))
from browsers import start_browser
from terminal import start

CASE = HERE.parent / "cases" / "sampling-stub.toml"
COLOURS = 128  # of a picture; a page has few
HAPPENED = """
const [joint, events] = arguments;
(async () => {
  for (const [n, [kind, ago, number, value]] of events.entries()) {
    await fetch(`/joints/${joint}/event`, {method: "POST", body: JSON.stringify(
      {name: `picture${n}`, kind, number, value, age_ms: 1000 * ago})});
  }
})();
"""
WELD = [["on", 330, 1, ""], ["amps", 300, 0, "82 A"], ["off", 245, 0, ""]]


def main():
    folder = Path(sys.argv[1]) if sys.argv[1:] else None
    with tempfile.TemporaryDirectory() as scratch:
        process, address = begin(Path(scratch) / "welds")
        browser = start_browser(Path(scratch) / "profile", "--hide-scrollbars")
        try:
            take(browser, address, folder)
        finally:
            browser.quit()
            process.send_signal(signal.SIGINT)
            process.wait(10)


def begin(welds):
    """Start the desk; return its process and its address."""
    process = start("desk", CASE, "--out", welds, "--no-browser", "--quiet", stderr=None)
    return process, process.stdout.readline().strip()


def take(browser, address, folder):
    """Take the pictures, one after the other."""
    size(browser, 1440, 1500)
    browser.get(address)
    until(browser, "document.querySelector('#what').textContent.includes('full answer')")
    browser.execute_script("document.querySelector('#show-section').click()")
    until(browser, "!document.querySelector('#section').hidden")
    shot(browser, (folder or HERE) / "desk.png")
    if folder is None:
        return
    shade(browser, "dark")
    shot(browser, folder / "desk-dark.png")
    shade(browser, "light")
    size(browser, 390, 1700)
    shot(browser, folder / "desk-phone-size.png")
    size(browser, 1000, 1500)
    weld(browser, folder)
    press(browser, "Teach")
    press(browser, "Size")
    until(browser, "document.querySelectorAll('#teach-curves polyline').length == 4")
    size(browser, 1200, 900)
    shot(browser, folder / "desk-teach.png")


def weld(browser, folder):
    """Weld a pass, read, and show what the page says."""
    press(browser, "Weld this joint")
    until(browser, "document.querySelector('.booth h1')")
    browser.execute_script(HAPPENED, "joint-001", [*WELD, ["read", 60, 0, "190 degC"]])
    until(
        browser,
        "/fit to the readings\\./.test(document.querySelector('.booth').textContent)",
    )
    shot(browser, folder / "desk-weld.png")
    size(browser, 360, 1300)
    shot(browser, folder / "desk-weld-phone.png")
    size(browser, 1000, 1500)


def size(browser, width, height):
    metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)


def shade(browser, name):
    feature = {"name": "prefers-color-scheme", "value": name}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})


def press(browser, words):
    browser.execute_script(
        "[...document.querySelectorAll('button')].find(b => b.offsetParent && "
        "b.textContent.startsWith(arguments[0])).click()",
        words,
    )


def until(browser, script):
    end = time.monotonic() + 120
    while not browser.execute_script(f"return {script}"):
        if time.monotonic() > end:
            raise TimeoutError(script)
        time.sleep(0.1)


def shot(browser, path):
    """Take a picture, in few colours."""
    time.sleep(0.4)
    picture = Image.open(io.BytesIO(browser.get_screenshot_as_png())).convert("RGB")
    few = picture.quantize(COLOURS, dither=Image.Dither.NONE)
    few.save(path, optimize=True)
    print(f"wrote {path}, {path.stat().st_size // 1000} kB")


if __name__ == "__main__":
    main()
