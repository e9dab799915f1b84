// Opens a crew page in a real browser and works it by pointer and keyboard.
// node crew_page.mjs NODE_MODULES BROWSER PAGE.html PERSON light,dark
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import assert from "node:assert/strict";

const [tools, browserPath, page, person, schemes] = process.argv.slice(2);
const require = createRequire(pathToFileURL(tools + "/").href);
const { chromium } = require(tools + "/playwright-core");
const axe = readFileSync(tools + "/axe-core/axe.min.js", "utf8");
const { HtmlValidate, FileSystemConfigLoader, StaticConfigLoader } = require(tools + "/html-validate");
void FileSystemConfigLoader;

const validator = new HtmlValidate(
  new StaticConfigLoader({
    extends: ["html-validate:standard"],
    // Style, not validity: how void elements and the doctype are written, and trailing spaces.
    rules: { "void-style": "off", "doctype-style": "off", "no-trailing-whitespace": "off", "no-inline-style": "error" },
  }),
);
const report = await validator.validateFile(page);
const faults = report.results.flatMap((r) => r.messages.map((m) => `${m.line}:${m.column} ${m.ruleId} ${m.message}`));
assert.deepEqual(faults, [], "html-validate");

// Nothing here is a test of speed.
const PATIENCE_MS = 120_000;
const browser = await chromium.launch({ timeout: PATIENCE_MS, executablePath: browserPath, args: ["--no-sandbox", "--disable-dev-shm-usage"] });
const url = pathToFileURL(page).href;
for (const size of [{ width: 360, height: 740 }, { width: 1280, height: 800 }]) {
  const context = await browser.newContext({ viewport: size });
  context.setDefaultTimeout(PATIENCE_MS);
  const tab = await context.newPage();
  const said = [];
  const asked = [];
  tab.on("console", (m) => said.push(m.text()));
  tab.on("pageerror", (e) => said.push(String(e)));
  tab.on("dialog", (d) => { said.push("dialog: " + d.message()); d.dismiss(); });
  tab.on("request", (r) => { if (!r.url().startsWith("data:") && r.url() !== url) { asked.push(r.url()); } });
  await tab.goto(url);

  // Nothing wider than the screen.
  const wide = await tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  assert.ok(wide <= 0, `${wide} px wider than the screen at ${size.width}`);

  // A tick by pointer, and one by keyboard, stay after the page is opened again.
  const box = tab.locator("article label.tick input").first();
  await box.check();
  await tab.locator("article label.tick input").nth(1).focus();
  await tab.keyboard.press("Space");
  await tab.reload();
  assert.ok(await tab.locator("article label.tick input").first().isChecked(), "a tick by pointer is kept");
  assert.ok(await tab.locator("article label.tick input").nth(1).isChecked(), "a tick by keyboard is kept");
  await tab.locator("#as-text").click();
  assert.equal((await tab.locator("#text").inputValue()).split("\n").length, 2, "ticks as text");

  // The moves: the slider by keyboard moves somebody.
  const slider = tab.locator("input[type=range]").first();
  await slider.focus();
  await tab.keyboard.press("ArrowRight");
  const dots = tab.locator("svg.plan circle[r='2.2'][visibility=visible]");
  const places = async () => dots.evaluateAll((list) => list.map((d) => d.getAttribute("cx") + " " + d.getAttribute("cy")));
  const before = await places();
  assert.ok(before.length > 0, "people are drawn on the plan");
  await tab.keyboard.press("End");
  assert.notDeepEqual(await places(), before, "somebody moves");

  // Somebody's own marks.
  await tab.locator("#who").selectOption({ label: person });
  assert.ok((await tab.locator("li.mine").count()) > 0, "own marks stand out");
  assert.equal(await tab.locator("article:visible li.mine").count() > 0, true);
  const others = await tab.locator("li[data-who].mine").evaluateAll((l, p) => l.filter((x) => x.dataset.who !== p).length, person);
  assert.equal(others, 0, "nobody else's");
  await tab.locator("#who").selectOption("");

  // Each part by the keyboard alone, and accessible in light, dark and dim.
  for (const scheme of schemes.split(",")) {
    await tab.emulateMedia({ colorScheme: scheme });
    const links = tab.locator("nav a");
    for (let i = 0; i < (await links.count()); i++) {
      await links.nth(i).focus();
      await tab.keyboard.press("Enter");
      // By the page's own structure: its policy lets nothing be evaluated from a string.
      await tab.locator(`nav a:nth-of-type(${i + 1})[aria-current="page"]`).waitFor();
      assert.equal(await tab.locator("main > section:visible").count(), 1, "one part at a time");
      // What checks the page is put in from outside the page's own policy.
      await tab.evaluate(axe);
      const found = await tab.evaluate(async () => (await window.axe.run()).violations.map((v) => v.id + ": " + v.nodes[0].html));
      assert.deepEqual(found, [], `axe, part ${i}, ${scheme}`);
    }
  }
  await tab.locator("#dim").click();
  await tab.evaluate(axe);
  const dim = await tab.evaluate(async () => (await window.axe.run()).violations.map((v) => v.id + ": " + v.nodes[0].html));
  assert.deepEqual(dim, [], "axe, dim");

  assert.deepEqual(said, [], "nothing is said, refused or asked");
  assert.deepEqual(asked, [], "nothing is fetched");
  await context.close();
}

// With scripts off all of it is read.
{
  const context = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 360, height: 740 } });
  context.setDefaultTimeout(PATIENCE_MS);
  const tab = await context.newPage();
  await tab.goto(url);
  const parts = tab.locator("main > section");
  for (let i = 0; i < (await parts.count()); i++) {
    assert.ok(await parts.nth(i).isVisible(), `part ${i} stands without scripts`);
  }
  assert.ok(await tab.locator("noscript p").isVisible(), "it says that nothing is ticked");
  await context.close();
}

// Where storage is refused, the page says so and works on.
{
  const context = await browser.newContext();
  await context.addInitScript(() => {
    Object.defineProperty(window, "localStorage", { get() { throw new DOMException("refused", "SecurityError"); } });
  });
  context.setDefaultTimeout(PATIENCE_MS);
  const tab = await context.newPage();
  const said = [];
  tab.on("pageerror", (e) => said.push(String(e)));
  await tab.goto(url);
  assert.ok(await tab.locator("#not-kept").isVisible(), "it says that ticks are not kept");
  await tab.locator("article label.tick input").first().check();
  assert.deepEqual(said, []);
  await context.close();
}
await browser.close();
console.log("ok");
