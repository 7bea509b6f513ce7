// Opens pages in a headless browser: nothing on the console, no request, no overflow, a name for every
// picture, no table cut on paper, and nothing that an accessibility checker finds.
//
//   node check.mjs PAGE.html ...            what is wrong, and exit code 1
//   node check.mjs --pictures FOLDER PAGE   also screenshots: light, dark, on a phone, on paper
//   node check.mjs --top FILE PAGE          only a screenshot of its top

import { readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";

const WIDTHS = [360, 800, 1400];
const SCHEMES = ["light", "dark"];
// A4 and letter, less the margins that the page asks for (14 and 13 mm), in CSS pixels
const MM = 96 / 25.4;
const PAPERS = [
  ["A4", 210, 297],
  ["letter", 215.9, 279.4],
].map(([name, width, height]) => [name, (width - 26) * MM, (height - 28) * MM]);

const checker = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

const given = process.argv.slice(2);
let folder = null;
let top = null;
if (given[0] === "--top") {
  top = resolve(given[1]);
  given.splice(0, 2);
}
if (given[0] === "--pictures") {
  folder = resolve(given[1]);
  given.splice(0, 2);
}

// a machine that builds something else meanwhile opens pages late
const PATIENCE = 180_000;

const browser = await puppeteer.launch({
  timeout: PATIENCE,
  protocolTimeout: PATIENCE,
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--force-color-profile=srgb"],
});

// What stands out of the window, and which pictures have no name.
function measured() {
  const wide = document.documentElement.clientWidth;
  const out = [];
  const scrolled = (element) => {
    for (let up = element.parentElement; up; up = up.parentElement) {
      if (getComputedStyle(up).overflowX === "auto") return true;
    }
    return false;
  };
  for (const element of document.body.querySelectorAll("*")) {
    if (element.closest("svg") && element.tagName !== "svg") continue;
    const box = element.getBoundingClientRect();
    if (box.width > 0 && (box.right > wide + 0.5 || box.left < -0.5) && !scrolled(element)) {
      out.push(`${element.tagName.toLowerCase()}.${element.className.baseVal ?? element.className} at ${Math.round(box.left)} to ${Math.round(box.right)}`);
    }
  }
  // in a picture, text must stay inside of it and may not lie on other text
  const shown = [...document.querySelectorAll("svg")].filter((svg) => svg.getBoundingClientRect().width > 0);
  for (const svg of shown) {
    const frame = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll("text")].map((text) => [text.textContent.trim(), text.getBoundingClientRect()]);
    for (const [words, box] of texts) {
      if (box.right > frame.right + 2 || box.left < frame.left - 2) out.push(`"${words}" stands out of its picture`);
    }
    for (let i = 0; i < texts.length; i++) {
      for (let j = i + 1; j < texts.length; j++) {
        const [a, b] = [texts[i][1], texts[j][1]];
        const over = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (over > 2 && down > Math.min(a.height, b.height) * 0.45) out.push(`"${texts[i][0]}" lies on "${texts[j][0]}"`);
      }
    }
  }
  const nameless = [...document.querySelectorAll("svg")]
    .filter((svg) => !svg.querySelector(":scope > title")?.textContent || !svg.querySelector(":scope > desc")?.textContent)
    .map((svg) => `a picture without a name: ${svg.outerHTML.slice(0, 80)}`);
  if (document.documentElement.scrollWidth > wide) out.push(`the page is ${document.documentElement.scrollWidth} wide`);
  return [...out, ...nameless];
}

// On paper: no table or picture wider than the sheet, and no row or picture higher than it.
function cut(high) {
  const wide = document.documentElement.clientWidth;
  const found = [];
  for (const element of document.querySelectorAll("table, svg, pre")) {
    const box = element.getBoundingClientRect();
    if (box.width > 0 && box.right > wide + 0.5) found.push(`${element.tagName} is cut at the right: ${element.textContent.slice(0, 40)}`);
  }
  for (const element of document.querySelectorAll("tr, svg")) {
    const box = element.getBoundingClientRect();
    if (box.height > high) found.push(`${element.tagName} is higher than a sheet: ${element.textContent.slice(0, 40)}`);
    if (element.tagName === "TR" && getComputedStyle(element).breakInside !== "avoid") found.push("a row may be cut in two");
  }
  for (const scroll of document.querySelectorAll(".scroll")) {
    if (scroll.scrollWidth > scroll.clientWidth + 1) found.push(`a table is cut: ${scroll.getAttribute("aria-label")}`);
  }
  for (const head of document.querySelectorAll("thead")) {
    if (getComputedStyle(head).display !== "table-header-group") found.push("the heads of a table are not repeated");
  }
  return found;
}

async function check(file) {
  const wrong = [];
  const page = await browser.newPage();
  page.setDefaultTimeout(PATIENCE);
  page.on("console", (message) => wrong.push(`console: ${message.text()}`));
  page.on("pageerror", (error) => wrong.push(`error: ${error}`));
  page.on("dialog", (dialog) => {
    wrong.push(`dialog: ${dialog.message()}`);
    dialog.dismiss();
  });
  const address = pathToFileURL(resolve(file)).href;
  page.on("request", (request) => {
    if (request.url() !== address) wrong.push(`request: ${request.url().slice(0, 120)}`);
  });
  await page.goto(address);
  const name = basename(file, ".html");
  for (const scheme of SCHEMES) {
    await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
    for (const width of WIDTHS) {
      await page.setViewport({ width, height: 900 });
      if (scheme === "light") wrong.push(...(await page.evaluate(measured)).map((what) => `${width}: ${what}`));
      if (folder) await pictures(page, join(folder, `${name}-${scheme}-${width}`));
    }
    // once for the narrow drawing, once for the wide one
    for (const width of [360, 1400]) {
      await page.setViewport({ width, height: 900 });
      const found = await page.evaluate(async (source) => {
        if (!window.axe) (0, eval)(source);
        return (await window.axe.run(document, { resultTypes: ["violations"] })).violations.map(
          (rule) => `${rule.id}: ${rule.help}: ${rule.nodes[0].html.slice(0, 140)} (${rule.nodes.length}) ${rule.nodes[0].failureSummary}`,
        );
      }, checker);
      wrong.push(...found.map((what) => `${scheme}, ${width}: ${what}`));
    }
  }
  await page.emulateMediaFeatures([]);
  await page.emulateMediaType("print");
  for (const [paper, width, height] of PAPERS) {
    await page.setViewport({ width: Math.floor(width), height: Math.floor(height) });
    wrong.push(...(await page.evaluate(cut, height)).map((what) => `${paper}: ${what}`));
    const pdf = await page.pdf({ format: paper, preferCSSPageSize: false, printBackground: true });
    if (pdf.length < 10_000) wrong.push(`${paper}: the PDF has ${pdf.length} bytes`);
    if (folder) {
      await writeFile(join(folder, `${name}-${paper}.pdf`), pdf);
      await pictures(page, join(folder, `${name}-${paper}`));
    }
  }
  await page.close();
  return wrong;
}

// A long page in parts that can be looked at.
async function pictures(page, path) {
  const { width } = page.viewport();
  const high = await page.evaluate(() => document.documentElement.scrollHeight);
  const part = width < 500 ? 1500 : 2000;
  for (let i = 0; i * part < high; i++) {
    const height = Math.min(part, high - i * part);
    await page.screenshot({ path: `${path}-${i}.png`, clip: { x: 0, y: i * part, width, height }, captureBeyondViewport: true });
  }
}

if (top) {
  const page = await browser.newPage();
  await page.setViewport({ width: 1000, height: 1000 });
  await page.goto(pathToFileURL(resolve(given[0])).href);
  // from the name to the end of the drawing
  const height = await page.evaluate(() => Math.ceil(document.querySelector("figure").getBoundingClientRect().bottom + 24));
  await page.screenshot({ path: top, clip: { x: 0, y: 0, width: 1000, height }, captureBeyondViewport: true });
  await browser.close();
  process.exit(0);
}

let failed = false;
for (const file of given) {
  const wrong = [...new Set(await check(file))];
  failed ||= wrong.length > 0;
  console.log(`${wrong.length === 0 ? "good" : "wrong"}: ${file}`);
  for (const what of wrong.slice(0, 40)) console.log(`  ${what}`);
}
await browser.close();
process.exit(failed ? 1 : 0);
