#!/usr/bin/python3
"""The HTML proof in Chromium, with keyboard, at phone width and without script.

proof_page_test.py KIRTLE. Exit status 77 (skipped) where Chromium, its driver or Selenium are not installed."""
import os
import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import zlib

SKIPPED = 77
CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
try:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.by import By
    from selenium.webdriver.common.keys import Keys
except ImportError:
    webdriver = None

NASTY = "<img src=x onerror=\"window.pwned=1\"></title><script>window.pwned=1</script> 'é 夜の庭 \u05e9"
TITLE = "Stripes & <b>stars</b>"
# Text in the page's own elements: colour, the background it stands on, size.
TEXTS = """
const out = [];
for (const e of document.querySelectorAll('body *')) {
  if (['SCRIPT', 'STYLE', 'OPTION'].includes(e.tagName) || !e.getClientRects().length) continue;
  const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
  if (!own) continue;
  let back = e;
  while (back && getComputedStyle(back).backgroundColor.endsWith(', 0)')) back = back.parentElement;
  const style = getComputedStyle(e);
  out.push([e.tagName + '.' + e.className, parseFloat(style.fontSize), style.color,
            getComputedStyle(back || document.body).backgroundColor, e.textContent.trim().slice(0, 40)]);
}
return out;"""


def png(path, width, height, film):
    """A grey plate of 50 per inch, black = ink."""
    rows = b"".join(b"\0" + bytes(255 - round(255 * film(x, y)) for x in range(width)) for y in range(height))

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)) +
                     chunk(b"pHYs", struct.pack(">IIB", 1969, 1969, 1)) + chunk(b"IDAT", zlib.compress(rows)) +
                     chunk(b"IEND", b""))


def make_proof(kirtle, folder):
    """An order of two prints on two shirts, all 14 sizes, with names that try to be markup."""
    def quoted(text):
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    png(folder / "base.png", 300, 300, lambda x, y: 1.0 if 20 < x < 280 and 20 < y < 280 else 0.0)
    png(folder / "red.png", 300, 300, lambda x, y: 1.0 if 60 < x < 240 and 60 < y < 240 else 0.0)
    plates = "".join(f'[[plate]]\nname = "{n}"\nfile = "{n}.png"\nink_is = "dark"\nink = "{i}"\nmesh = "61-64"\n{more}\n'
                     for n, i, more in (("base", "base-white", "flash = true"),
                                        ("red", "red", "customer_ink = " + quoted(NASTY))))
    (folder / "scene.toml").write_text(f"schema = 1\ntitle = {quoted(TITLE)}\nshirt = \"black-cotton\"\n{plates}")
    sizes = ", ".join(f'"{s}" = 12' for s in "YXS YS YM YL YXL XS S M L XL 2XL 3XL 4XL 5XL".split())
    (folder / "order.toml").write_text(
        f"schema = 1\ncustomer = {quoted(NASTY)}\norder = \"{'W' * 60}\"\nversion = 3\nreplaces = 2\n"
        "note = \"Invented for a test\"\n" +
        "".join(f'[[print]]\nlocation = "{l}"\nscene = "scene.toml"\nwidth = "{w} in"\n' for l, w in (("front", 8), ("nape", 2))) +
        "".join(f'[[shirts]]\nshirt = "{s}"\nquantities = {{ {sizes} }}\n' for s in ("black-cotton", "sand-cotton")))
    subprocess.run([kirtle, "proof", "order.toml", "-o", "proof.pdf", "--html", "proof.html", "--quiet"], cwd=folder,
                   check=True, timeout=60)
    return folder / "proof.html"


def luminance(colour):
    """Relative luminance of "rgb(r, g, b)". Source: W3C WCAG 2.2, definition of relative luminance."""
    parts = [int(float(v)) / 255 for v in colour[colour.index("(") + 1:-1].split(",")[:3]]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


class ProofPage(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = pathlib.Path(tempfile.mkdtemp(prefix="kirtle-browser-"))
        cls.addClassCleanup(shutil.rmtree, cls.folder, True)
        cls.page = make_proof(cls.kirtle, cls.folder)
        options = webdriver.ChromeOptions()
        options.binary_location = CHROMIUM
        for word in ("--headless=new", "--disable-gpu", f"--user-data-dir={cls.folder}/profile"):
            options.add_argument(word)
        if os.geteuid() == 0:
            options.add_argument("--no-sandbox")  # Chromium's sandbox does not start as root
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        cls.browser = webdriver.Chrome(service=Service(DRIVER), options=options)
        cls.addClassCleanup(cls.browser.quit)

    def open(self, width=1280, height=900, script=True):
        b = self.browser
        b.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": not script})
        b.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                          {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False})
        b.get(self.page.as_uri())
        return b

    def js(self, text, *more):
        return self.browser.execute_script(text, *more)

    def value(self, expression):
        """Of an expression, asked from outside the page: also where its scripts are switched off."""
        return self.browser.execute_cdp_cmd("Runtime.evaluate", {"expression": expression, "returnByValue": True})["result"]["value"]

    def shown(self):
        return self.js("return document.querySelector('.view.shown img').src.slice(-80)")

    def status(self):
        return self.js("return document.querySelector('.status').textContent")

    def stage(self):
        return self.browser.find_element(By.CSS_SELECTOR, ".stage").screenshot_as_png

    def press(self, *keys):
        for key in keys:
            ActionChains(self.browser).send_keys(key).perform()

    def tab_to(self, css):
        for _ in range(20):
            self.press(Keys.TAB)
            if self.js("return document.activeElement.matches(arguments[0])", css):
                return
        self.fail("the Tab key does not reach " + css)

    def test_pictures_load_and_nothing_leaves_the_page(self):
        b = self.open()
        b.get_log("browser"), b.get_log("performance")
        b.get(self.page.as_uri())
        sizes = self.js("return [...document.images].map(i => i.complete && i.naturalWidth)")
        self.assertEqual(len(sizes), 2 * (2 * 4 + 1 + 2))
        self.assertTrue(all(s > 50 for s in sizes), sizes)
        self.assertEqual(b.get_log("browser"), [])
        asked = [line["message"] for line in b.get_log("performance") if "Network.requestWillBeSent\"" in line["message"]]
        self.assertGreater(len(asked), 0)
        for message in asked:
            self.assertRegex(message, r'"url":"(data:image/jpeg|file://[^"]*proof\.html)')

    def test_policy_stops_what_would_be_fetched_or_run(self):
        b = self.open()
        b.get_log("browser")
        self.js("const i = new Image(); i.src = 'https://example.invalid/a.png'; document.body.append(i);"
                "const s = document.createElement('script'); s.textContent = 'window.pwned = 1'; document.body.append(s);")
        self.assertIsNone(self.js("return window.pwned"))
        self.assertIn("Content Security Policy", " ".join(line["message"] for line in b.get_log("browser")))

    def test_names_stay_names(self):
        self.open()
        self.assertIsNone(self.js("return window.pwned"))
        self.assertEqual(self.js("return document.scripts.length"), 1)
        self.assertEqual(self.browser.title, "Proof: " + TITLE)
        self.assertEqual(self.js("return document.querySelector('h1').textContent"), TITLE)
        self.assertIn(NASTY, self.js("return document.querySelector('.for').textContent"))
        self.assertIn(NASTY, self.js("return document.querySelector('.inks tbody').textContent"))

    def test_keyboard_switches_shirt_and_light(self):
        self.open()
        first, picture, said = self.shown(), self.stage(), self.status()
        self.assertIn("Black, cotton, daylight", said)
        self.tab_to("input[data-kind=shirt]")
        ring = self.js("return getComputedStyle(document.activeElement.parentElement).outlineStyle + "
                       "getComputedStyle(document.activeElement.parentElement).outlineWidth")
        self.assertEqual(ring, "solid3px")
        self.press(Keys.ARROW_RIGHT)
        second = self.shown()
        self.assertNotEqual(second, first)
        self.assertNotEqual(self.stage(), picture)
        self.assertIn("Sand, cotton, daylight", self.status())
        self.press(Keys.TAB, Keys.ARROW_RIGHT)
        self.assertNotIn(self.shown(), (first, second))
        self.assertIn("filament lamp", self.status())
        visible = self.js("return [...document.querySelector('.stage').querySelectorAll('img')]"
                          ".filter(i => i.getClientRects().length).length")
        self.assertEqual(visible, 1)

    def test_keyboard_compares_two_pictures(self):
        self.open()
        slider = "document.querySelector('input[type=range]')"
        self.assertFalse(self.js(f"return {slider}.checkVisibility()"))
        self.tab_to("select")
        self.press(Keys.ARROW_DOWN, Keys.ARROW_DOWN)
        self.assertTrue(self.js(f"return {slider}.checkVisibility()"))
        self.assertRegex(self.status(), "Left of the line: .*daylight.*Right of it: .*filament lamp")
        clip = "return document.querySelector('.view.over').style.clipPath"
        self.assertIn("50%", self.js(clip))
        self.press(Keys.TAB)
        half = self.stage()
        self.press(Keys.END)
        self.assertIn("100%", self.js(clip))
        whole = self.stage()
        self.press(Keys.HOME)
        self.assertRegex(self.js(clip), r"0px 0px 0px( 0%)?|inset\(0px\)|0%")
        self.assertEqual(len({half, whole, self.stage()}), 3)
        self.assertEqual(self.js(f"return {slider}.getAttribute('aria-valuetext')"), "0 % from the left")
        stage = self.browser.find_element(By.CSS_SELECTOR, ".stage")
        ActionChains(self.browser).move_to_element(stage).click_and_hold().move_by_offset(60, 0).release().perform()
        self.assertGreater(int(self.js(f"return {slider}.value")), 55)

    def test_reply_can_be_copied(self):
        self.open()
        self.js("document.querySelector('.copy').focus()")
        self.press(Keys.ENTER)
        self.browser.implicitly_wait(2)
        self.browser.find_element(By.XPATH, "//span[@id='copied'][string-length(text()) > 0]")
        self.assertIn("[ ] Approved as shown", self.js("return getSelection().toString()"))
        self.assertIn("[ ] Approved as shown", self.js("return document.getElementById('reply').textContent"))

    def test_everything_has_a_name(self):
        self.open()
        self.js("const s = document.querySelector('select'); s.selectedIndex = 2; s.dispatchEvent(new Event('change'))")
        nodes = self.browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
        counts = {}
        for node in nodes:
            role = node.get("role", {}).get("value", "")
            if node.get("ignored") or role not in ("radio", "combobox", "slider", "button", "image", "img", "group", "radiogroup", "region"):
                continue
            counts[role] = counts.get(role, 0) + 1
            self.assertTrue(node.get("name", {}).get("value", "").strip(), node)
        self.assertGreaterEqual(counts.get("radio", 0), 12, counts)
        self.assertGreaterEqual(counts.get("slider", 0), 1, counts)
        self.assertGreaterEqual(counts.get("image", 0) + counts.get("img", 0), 8, counts)
        levels = self.js("return [...document.querySelectorAll('h1,h2,h3,h4')].map(h => Number(h.tagName[1]))")
        self.assertEqual(levels[0], 1)
        self.assertEqual(levels.count(1), 1)
        self.assertTrue(all(b - a <= 1 for a, b in zip(levels, levels[1:])), levels)
        self.assertEqual(self.js("return document.documentElement.lang"), "en")

    def test_phone_and_desktop_fit_and_can_be_read(self):
        for width in (320, 360, 768, 1280, 1920):
            for script in (True, False):
                self.open(width, script=script)
                self.assertLessEqual(self.value("document.documentElement.scrollWidth"), width, (width, script))
        for width in (360, 1280):
            self.open(width)
            texts = self.js(TEXTS)
            self.assertGreater(len(texts), 40)
            for name, size, colour, back, words in texts:
                self.assertGreaterEqual(size, 12, (name, words))
                light, dark = sorted((luminance(colour), luminance(back)), reverse=True)
                # Source: W3C WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
                self.assertGreaterEqual((light + 0.05) / (dark + 0.05), 4.5, (name, words))
        self.open(360)
        small = self.js("return [...document.querySelectorAll('.choices label, select, button')]"
                        ".filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 44).length")
        self.assertEqual(small, 0)  # common practice, no source: 44 px for a finger

    def test_without_script_all_is_there(self):
        self.open(script=False)
        self.assertFalse(self.value("document.documentElement.classList.contains('live')"))
        self.assertEqual(self.value("[...document.images].filter(i => i.getClientRects().length && i.naturalWidth).length"), 22)
        for css in (".switches", ".copy", ".status"):
            self.assertEqual(self.value(f"[...document.querySelectorAll('{css}')].filter(e => e.getClientRects().length).length"), 0, css)
        words = self.value("document.body.innerText")
        for text in ("What may differ from shirt to shirt", "Approved as shown", "What to expect", "Version 3, replaces version 2",
                     "Black, cotton, daylight (D50)", "Signed for: version 3"):
            self.assertIn(text, words)

    def test_paper_and_reduced_motion(self):
        self.open()
        b = self.browser
        b.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-reduced-motion", "value": "reduce"}]})
        self.assertEqual(self.js("return getComputedStyle(document.querySelector('.choices label')).transitionDuration"), "0s")
        b.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        self.assertEqual(self.js("return ['.switches', '.reply'].map(c => getComputedStyle(document.querySelector(c)).display)"), ["none", "none"])
        width = self.js("return document.querySelector('.close img').getBoundingClientRect().width / 96 * 25.4")
        part = self.js("return document.querySelector('.close img').naturalWidth") / (259 / 8) * 25.4  # 259 pixels of ink make 8 in
        self.assertAlmostEqual(width, part, delta=0.5)
        b.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


if __name__ == "__main__":
    missing = [name for name, found in (("chromium", CHROMIUM), ("chromium-driver", DRIVER), ("python3-selenium", webdriver)) if not found]
    if missing:
        print("skipped: the HTML proof is not tested in a browser; not installed:", ", ".join(missing))
        sys.exit(SKIPPED)
    ProofPage.kirtle = os.path.abspath(sys.argv.pop(1))
    unittest.main(verbosity=2)
