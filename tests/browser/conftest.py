"""A headless Chromium for tests of the page; without one they are skipped, and say why."""

import base64
import json
import shutil
import time
from pathlib import Path

import pytest

CHROMIUM = next((found for found in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if found), None)
DRIVER = shutil.which("chromedriver")
OPTIONS = ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
           "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage", "--disable-default-apps",
           "--hide-scrollbars")


class Browser:
    """One browser, a page at a time."""

    def __init__(self, driver):
        self.driver = driver

    def open(self, file: Path, width: int) -> None:
        """Show a file in a window of some width, and forget what was logged before."""
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                                    {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 500})
        self.driver.get("about:blank")
        for kind in ("performance", "browser"):
            self.driver.get_log(kind)
        self.driver.get(file.as_uri())
        time.sleep(0.1)

    def ask(self, script: str, *arguments):
        """Return what a script of the test (the page has none) answers."""
        return self.driver.execute_script(script, *arguments)

    def requests(self) -> list[str]:
        """Return every address that was asked for since the page was opened."""
        messages = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]
        return [message["params"]["request"]["url"] for message in messages if message["method"] == "Network.requestWillBeSent"]

    def complaints(self) -> list[str]:
        """Return what the console says."""
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def printed(self, width: float, height: float) -> bytes:
        """Return the page printed on paper of some size (inches) as PDF."""
        asked = {"paperWidth": width, "paperHeight": height, "preferCSSPageSize": False, "printBackground": True,
                 "marginTop": 0.55, "marginBottom": 0.55, "marginLeft": 0.59, "marginRight": 0.59}
        made = self.driver.execute_cdp_cmd("Page.printToPDF", asked)
        return base64.b64decode(made["data"])


@pytest.fixture(scope="session")
def browser(tmp_path_factory):
    """Return a browser of its own, without a history."""
    if CHROMIUM is None or DRIVER is None:
        missing = "Chromium" if CHROMIUM is None else "chromedriver"
        pytest.skip(f"no {missing} on this machine (Debian: chromium, chromium-driver)")
    webdriver = pytest.importorskip("selenium.webdriver")
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for option in (*OPTIONS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(option)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(DRIVER))
    yield Browser(driver)
    driver.quit()
