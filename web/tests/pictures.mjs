// The pictures of README, from the demo: node tests/pictures.mjs ADDRESS INTO [MODELS] (a server over a copy of plans/demo with
// its models made; MODELS is their folder, `models` of that copy: one of them is dropped, so that a folder for it stands there).
// Says also what it takes until the demo's findings stand on the screen.
import { chromium } from "playwright-core";
import { mkdirSync } from "node:fs";

const [base, into, models] = process.argv.slice(2);
mkdirSync(into, { recursive: true });
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"] });
async function shot(name, hash, size, act, of, most = 1e5) {
  const context = await browser.newContext({ viewport: size });
  const page = await context.newPage();
  await page.goto(base + hash);
  await page.waitForSelector("#content h1:not([role=status])", { timeout: 90000 });
  await act?.(page);
  await page.waitForTimeout(500);
  const box = of && (await page.locator(of).boundingBox());
  await page.screenshot({ path: `${into}/${name}.png`, ...(box && { fullPage: true, clip: { ...box, y: box.y + (await page.evaluate(() => scrollY)), height: Math.min(box.height, most) } }) });
  await context.close();
}
// the content policy forbids text that is evaluated inside the page, so the page is asked again and again
async function settled(page) {
  for (let i = 0; i < 480 && await page.evaluate(() => /^Computing/.test(document.querySelector("#content [role=status]")?.textContent ?? "")); i++) await page.waitForTimeout(500);
}
const drop = { width: 1120, height: 800 };
await shot("start", "#/start", drop);
if (models)
  await shot("pick", "#/start", { width: 1280, height: 900 }, async (page) => {
    await page.getByLabel("part (STEP)").setInputFiles(`${models}/wvb3.step`);
    await page.getByRole("button", { name: "read the part" }).click();
    await page.getByRole("checkbox", { name: /^H3 hole/ }).check({ timeout: 60000 });
    await page.locator(".question", { hasText: "Which holes may carry" }).getByRole("button", { name: "from below" }).click();
  }, ".question:has(#q-pin_holes)");
await shot("desk", "#/desk/plan-0.toml", { width: 1280, height: 1020 }, async (page) => {
  await settled(page);
  await page.locator('.val[title$="screw.1.torque"]').click();
  await page.locator("input.val").fill("28 N·m");
  await page.keyboard.press("Enter");
  await page.locator(".trial").filter({ hasText: "better" }).waitFor({ timeout: 60000 });
  await page.locator("#op").selectOption("OP30");
  await page.waitForTimeout(1500); // the hand goes back to the value
  await page.evaluate(() => { document.activeElement?.blur(); scrollTo(0, 0); });
});
await shot("pallet", "#/desk/plan-0.toml", { width: 1280, height: 900 }, async (page) => {
  await settled(page);
  await page.getByRole("button", { name: "nest 2", exact: true }).press("ArrowRight");
  await page.locator(".trial").filter({ hasText: "better" }).waitFor();
  await page.locator("#op-OP30").scrollIntoViewIfNeeded();
  await page.evaluate(() => document.getElementById("op-OP30").scrollIntoView({ block: "start" }));
});
await shot("solid", "#/desk/plan-0.toml", { width: 1280, height: 1100 }, async (page) => {
  await page.locator("#op-OP30").getByRole("button", { name: "look at it in 3-D" }).click();
  await page.locator(".solid select.which").selectOption("F2");
}, "#op-OP30 .solid");
await shot("program", "#/desk/plan-0.toml", { width: 1280, height: 1500 }, async (page) => {
  const strip = page.locator("#op-OP30");
  await strip.getByRole("button", { name: "look at its program" }).click();
  await strip.locator(".program .scrub").waitFor({ timeout: 90000 });
  await strip.locator(".program .scrub").fill("2300");
}, "#op-OP30 .draw", 1180);
// at the machine somebody changed the torque meanwhile: what and why stands first
const ask = (route, body) => fetch(`${base}api/${route}`, { method: "POST", headers: { "content-type": "application/json", "x-fettle": "1" }, body: JSON.stringify({ path: "plan-0.toml", who: "desk", ...body }) }).then((r) => r.json());
const { hash } = await (await fetch(`${base}api/plan?path=plan-0.toml`)).json();
const kept = await ask("accept", { hash, changes: [{ key: "pallet.screw.1.torque", value: "28 N·m" }] });
const why = (page) => page.locator(".news .reason").first().waitFor({ timeout: 90000 });
await shot("floor", "#/floor/plan-0.toml", { width: 1120, height: 860 }, why);
await shot("load", "#/floor/plan-0.toml", { width: 1120, height: 860 }, async (page) => {
  await page.getByRole("button", { name: "OP20" }).click();
  await page.locator("#floor-card svg.flat").waitFor({ timeout: 60000 });
  await page.evaluate(() => document.querySelector(".tabs[role=tablist]").scrollIntoView());
}, "#floor-card");
await shot("phone", "#/floor/plan-0.toml", { width: 390, height: 844 }, async (page) => {
  await page.locator(".floor select").first().selectOption(await page.locator(".floor select option", { hasText: /^OP40 / }).getAttribute("value"));
  await page.getByRole("tab", { name: "Hone" }).click();
  await page.locator(".hones li").first().waitFor({ timeout: 90000 });
  await page.getByRole("button", { name: "understood" }).click();
  await page.getByRole("tab", { name: "Hone" }).click();
  await page.locator(".hones li").first().waitFor({ timeout: 90000 });
  await page.evaluate(() => document.querySelector("#floor-card").scrollIntoView());
});
await ask("undo", { hash: kept.hash });
// first paint of the demo's findings, the study not yet in the server's memory only the first time
const times = [];
for (let i = 0; i < 5; i++) {
  const page = await (await browser.newContext({ viewport: { width: 1280, height: 900 } })).newPage();
  const from = Date.now();
  await page.goto(`${base}#/desk/plan-0.toml`);
  await page.waitForSelector(".margins .row");
  times.push([Date.now() - from, Math.round(await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? -1))]);
  await page.context().close();
}
console.log("ms until the findings stand, first contentful paint:", times.map((t) => t.join("/")).join(", "));
await browser.close();
