"""Chromium without a window, as tests and pictures of the pages use it."""

import shutil

from selenium import webdriver

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


class NoBrowserError(Exception):
    """There is no Chromium with its driver on this machine."""


def start_browser(profile, *flags):
    """Start a browser that keeps its things in the folder ``profile`` and logs its requests.

    Raises
    ------
    NoBrowserError
        There is none.
    """
    found = next(filter(None, map(shutil.which, NAMES)), None)
    driver = shutil.which("chromedriver")
    if found is None or driver is None:
        msg = "no Chromium with its driver on this machine"
        raise NoBrowserError(msg)
    options = webdriver.ChromeOptions()
    options.binary_location = found
    for flag in (*FLAGS, f"--user-data-dir={profile}", *flags):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    service = webdriver.ChromeService(executable_path=driver)
    return webdriver.Chrome(options=options, service=service)
