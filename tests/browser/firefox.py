"""Firefox by its own remote control, headless, with a fresh profile that reaches no network.

What it should not do is watched from the browser's own side, where no page can hide it: every request that a
page makes, and every message of the console, violations of the Content-Security-Policy among them. What the
browser asks for by itself goes nowhere.
"""

from __future__ import annotations

import shutil
import socket
from pathlib import Path
from typing import Any

from marionette_driver import By, Wait
from marionette_driver.keys import Keys
from marionette_driver.marionette import HTMLElement, Marionette

# Everything but the local server goes to a port that nobody listens at; what would phone home is off besides.
PREFERENCES: dict[str, Any] = {
    "network.proxy.type": 1,
    "network.proxy.http": "127.0.0.1",
    "network.proxy.http_port": 9,  # discard
    "network.proxy.ssl": "127.0.0.1",
    "network.proxy.ssl_port": 9,
    "network.proxy.no_proxies_on": "127.0.0.1",
    "network.proxy.failover_direct": False,
    "network.dns.disablePrefetch": True,
    "network.prefetch-next": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "services.settings.server": "data:,",
    "app.normandy.enabled": False,
    "app.update.disabledForTesting": True,
    "browser.newtabpage.enabled": False,
    "browser.region.update.enabled": False,
    "browser.safebrowsing.malware.enabled": False,
    "browser.safebrowsing.phishing.enabled": False,
    "browser.search.update": False,
    "browser.topsites.contile.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "extensions.update.enabled": False,
    "media.gmp-manager.updateEnabled": False,
    "toolkit.telemetry.enabled": False,
    "browser.download.folderList": 2,
    "browser.helperApps.neverAsk.saveToDisk": "application/json,application/yaml",
    "intl.accept_languages": "en-GB",
}
WATCH = """
const win = Services.wm.getMostRecentWindow("navigator:browser");
win.asked = [];
win.watcher = { observe(subject) {
    const channel = subject.QueryInterface(Ci.nsIHttpChannel);
    if (!channel.loadInfo.triggeringPrincipal.isSystemPrincipal) { win.asked.push(channel.URI.spec); }
} };
Services.obs.addObserver(win.watcher, "http-on-modify-request");
Services.console.reset();
"""
ASKED = "return Services.wm.getMostRecentWindow('navigator:browser').asked.splice(0)"
SAID = """
const warns = one => one.flags & Ci.nsIScriptError.warningFlag;
const said = Services.console.getMessageArray().filter(one => one instanceof Ci.nsIScriptError)
    .filter(one => !warns(one) || one.category.startsWith("CSP"))
    .map(one => [one.sourceName || "", one.category, one.errorMessage]);
Services.console.reset();
return said;
"""


class Firefox:
    """One window; ``base`` is where the site is found, ``downloads`` the folder that files are saved in."""

    def __init__(self, folder: Path) -> None:
        program = shutil.which("firefox-esr") or shutil.which("firefox")
        if program is None:
            raise FileNotFoundError("The browser tests need Firefox. As root: apt-get install firefox-esr")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.driver = Marionette(
            host="127.0.0.1",
            port=port,
            bin=program,
            headless=True,
            gecko_log=str(folder / "firefox.log"),
            prefs=PREFERENCES | {"browser.download.dir": str(folder)},
            app_args=["-remote-allow-system-access"],
            startup_timeout=120,
        )
        self.driver.start_session()
        self.downloads = folder
        self.base = ""
        self._chrome(WATCH)

    def _chrome(self, script: str) -> Any:
        with self.driver.using_context("chrome"):
            return self.driver.execute_script(script)

    def close(self) -> None:
        """Ends the browser."""
        self.driver.quit()

    def size(self, width: int) -> None:
        """Makes the window so many pixels wide, as near as it goes."""
        self.driver.set_window_rect(width=width, height=900)

    def open(self, path: str) -> None:
        """Opens a page of the site."""
        self.driver.navigate(self.base + path)

    def js(self, script: str, *arguments: Any) -> Any:
        """What a script in the page returns."""
        return self.driver.execute_script(script, script_args=arguments, sandbox=None)

    def all(self, css: str, within: HTMLElement | None = None) -> list[HTMLElement]:
        """Every element by a selector."""
        return list((within or self.driver).find_elements(By.CSS_SELECTOR, css))

    def one(self, css: str) -> HTMLElement:
        """The first element by a selector that is shown; waits for it."""
        return self.until(lambda: next((e for e in self.all(css) if e.is_displayed()), None), css)

    def field(self, label: str, within: str = "body") -> HTMLElement:
        """The field with that label, or one that begins so."""
        found = self.js(
            """const [label, within] = arguments;
            const plain = one => one.textContent.trim();
            const labels = Array.from(document.querySelectorAll(within + " label"));
            const exact = labels.filter(one => plain(one) === label);
            const likely = labels.filter(one => plain(one).startsWith(label));
            const fields = [...exact, ...likely].map(one => one.control);
            return fields.find(one => one && one.checkVisibility()) || null;""",
            label,
            within,
        )
        assert found is not None, f"no field {label!r} in {within}"
        return found

    def press(self, words: str, within: str = "body") -> None:
        """Presses the button or summary with these words."""
        found = self.js(
            """const [words, within] = arguments;
            return Array.from(document.querySelectorAll(within + " :is(button, summary, a)"))
                .find(one => one.textContent.trim() === words && one.checkVisibility()) || null;""",
            words,
            within,
        )
        assert found is not None, f"nothing to press with {words!r} in {within}"
        found.click()

    def type(self, field: HTMLElement, text: str) -> None:
        """Puts text in the place of what a field holds, by keys."""
        field.send_keys(Keys.CONTROL + "a" + Keys.NULL)
        field.send_keys(text or Keys.BACKSPACE)

    def choose(self, field: HTMLElement, words: str) -> None:
        """Picks an option by the beginning of its words or by its value."""
        done = self.js(
            """const [field, words] = arguments;
            const fits = one => one.value === words || one.text.startsWith(words);
            const option = Array.from(field.options).find(fits);
            if (!option) { return false; }
            field.value = option.value;
            field.dispatchEvent(new Event("input", { bubbles: true }));
            field.dispatchEvent(new Event("change", { bubbles: true }));
            return true;""",
            field,
            words,
        )
        assert done, f"no option {words!r}"

    def text(self, css: str) -> str:
        """The words shown in the first element by a selector, its spaces single."""
        return " ".join(str(self.js("return document.querySelector(arguments[0]).innerText", css)).split())

    def until(self, true: Any, what: str = "") -> Any:
        """Waits until a function gives something true, and gives that."""
        return Wait(self.driver, timeout=20).until(lambda _: true(), message=what)

    def says(self, css: str, words: str) -> None:
        """Waits until an element says these words."""
        self.until(lambda: self.all(css) and words in self.text(css), f"{words!r} in {css}: never said")

    def trouble(self) -> list[str]:
        """Since the last call: requests to other hosts, errors in scripts, violations of the policy."""
        asked = [url for url in self._chrome(ASKED) if not url.startswith(self.base)]
        said = [
            f"{category}: {words}"
            for source, category, words in self._chrome(SAID)
            if category.startswith(("CSP", "content javascript")) or source.startswith(self.base)
        ]
        return [f"asked for {url}" for url in asked] + said
