// Pictures of every view in light, dark and phone size: node tests/shots.mjs ADDRESS INTO
import { chromium } from "playwright-core";
import { mkdirSync } from "node:fs";

const [base, into = "shots"] = process.argv.slice(2);
mkdirSync(into, { recursive: true });
const views = (process.env.VIEWS ?? "start,desk,finding,bench,reckoner,floor,measure,compare").split(",");
const plan = process.env.PLAN ?? "plan-0.toml";
const routes = {
  start: "#/start", desk: `#/desk/${plan}`, finding: `#/desk/${plan}?f=op30.-.holds.T11`, bench: "#/bench", reckoner: "#/bench/pin_goes_on",
  floor: `#/floor/${plan}`, measure: `#/floor/${plan}`, compare: `#/compare?a=${plan}&b=plan-1.toml`,
};
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox"] });
for (const [look, size, scheme] of [["light", { width: 1400, height: 950 }, "light"], ["dark", { width: 1400, height: 950 }, "dark"], ["phone", { width: 390, height: 844 }, "light"]]) {
  if (process.env.LOOKS && !process.env.LOOKS.split(",").includes(look)) continue;
  const context = await browser.newContext({ viewport: size, colorScheme: scheme });
  for (const view of views) {
    const page = await context.newPage();
    page.on("console", (m) => m.type() === "error" && console.log(view, look, m.text()));
    page.on("pageerror", (e) => console.log(view, look, String(e)));
    await page.goto(base + routes[view]);
    await page.waitForSelector("#content h1:not([role=status])", { timeout: 90000 });
    if (view === "reckoner") await page.getByRole("button", { name: "fill in the worked example" }).click();
    if (view === "measure") { await page.getByRole("tab", { name: "Measure" }).click(); await page.locator(".picks button").first().click({ timeout: 2000 }).catch(() => {}); }
    if (view === "compare") await page.waitForSelector("table", { timeout: 90000 }).catch(() => {});
    await page.waitForTimeout(view === "reckoner" ? 3000 : 600);
    await page.evaluate(() => scrollTo(0, 0));
    const high = await page.evaluate(() => document.documentElement.scrollHeight);
    await page.screenshot({ path: `${into}/${view}-${look}.png`, fullPage: true, clip: { x: 0, y: 0, width: size.width, height: Math.min(high, Number(process.env.HIGH ?? 1900)) } });
    await page.close();
  }
  await context.close();
}
await browser.close();
