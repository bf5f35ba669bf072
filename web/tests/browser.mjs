// What the browser tests share: one browser and one server for each file of tests, a page that remembers what went wrong.
import { after, before } from "node:test";
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { program } from "./program.mjs";
import { scene } from "./scene.mjs";
import { serve } from "./served.mjs";

export const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
export const PLAN = "plan-0.toml";
export const long = { timeout: 300000 };
export let server, browser;

/** For the whole file that calls it. */
export function starts() {
  before(async () => {
    server = await serve();
    browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"] });
  }, long);
  after(async () => {
    await browser?.close();
    server?.stop();
  });
}

/** What axe finds wrong below the element, by rule and element; `only`: one rule. */
export const faults = async (page, where, only) => {
  if (!(await page.evaluate(() => "axe" in globalThis))) await page.evaluate(axeSource);
  return page.evaluate(async ([where, only]) => (await globalThis.axe.run(where ?? document, { resultTypes: ["violations"], ...(only && { runOnly: [only] }) })).violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => n.html.slice(0, 140)).join(" | ")}`), [where, only]);
};

/** Waits until the page says yes; the content policy forbids Playwright's own way, which evaluates text inside the page. */
export async function until(page, says, argument = null, { timeout = 30000 } = {}) {
  const end = Date.now() + timeout;
  while (Date.now() < end) {
    if (await page.evaluate(says, argument).catch(() => false)) return;
    await new Promise((r) => setTimeout(r, 60));
  }
  throw new Error(`waited ${timeout} ms for ${says}`);
}

/** A page that remembers everything it complained about; expected answers of the server (4xx) are passed in. */
export async function open(hash, options = {}, expected = /$^/) {
  const context = await browser.newContext({ viewport: { width: 1400, height: 950 }, ...options });
  const page = await context.newPage();
  page.wrong = [];
  page.on("console", (m) => m.type() === "error" && !expected.test(m.text()) && page.wrong.push(`${m.text()} ${m.location().url}`));
  page.on("pageerror", (e) => page.wrong.push(String(e)));
  await page.goto(server.base + hash);
  await page.waitForSelector("#content h1:not([role=status]), #content > .notice", { timeout: 60000 });
  assert.equal(await page.locator("#content > .notice").count(), 0, await page.locator("#content").innerText());
  return page;
}
export async function end(page) {
  assert.deepEqual(page.wrong, [], "nothing in the console");
  await page.context().close();
}
export const desk = (options, expected) => open(`#/desk/${PLAN}`, options, expected);
export const settled = (page) => until(page, () => !document.querySelector("#content [role=status]")?.textContent.startsWith("Computing"), null, { timeout: 240000 });
export const file = () => readFileSync(join(server.folder, PLAN), "utf8");

export async function change(page, name, value) {
  await page.getByRole("button", { name: new RegExp(`^${name}, now`) }).first().click();
  await page.locator("input.val").fill(value);
  await page.keyboard.press("Enter");
}

/** The share of the canvas that is not paper, and its warm share. */
export const drawn = (page) => page.evaluate(() => {
  const from = document.querySelector("canvas.three"), copy = document.createElement("canvas");
  [copy.width, copy.height] = [from.width, from.height];
  const pen = copy.getContext("2d");
  pen.drawImage(from, 0, 0);
  const p = pen.getImageData(0, 0, copy.width, copy.height).data;
  let marked = 0, warm = 0;
  for (let i = 0; i < p.length; i += 4) {
    if (Math.abs(p[i] - p[0]) + Math.abs(p[i + 1] - p[1]) + Math.abs(p[i + 2] - p[2]) > 12) marked++;
    if (p[i] - p[i + 2] > 40) warm++;
  }
  return { marked: marked / (p.length / 4), warm: warm / (p.length / 4) };
});
/** The same, once what was asked for is painted: a busy machine may take its time over a frame. */
export const painted = async (page, so) => {
  const end = Date.now() + 20000;
  for (;;) {
    const seen = await drawn(page);
    if (so(seen) || Date.now() > end) return seen;
    await page.waitForTimeout(50);
  }
};
/** A scene made by hand after docs/api.md, so that the places to press are known. */
export const withScene = (page) => page.route("**/api/scene*", (r) => r.fulfill({ contentType: "application/json", body: JSON.stringify(scene) }));
/** A program made by hand after docs/api.md, so that times and places are known. */
export const withProgram = (page) => page.route("**/api/program*", (r) => r.fulfill({ contentType: "application/json", body: JSON.stringify(program) }));
