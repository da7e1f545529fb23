// The workspace in a real browser: every page in both sizes and both themes, without script and
// with it. Usage: node workspace.mjs PROGRAM [CHROMIUM]
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const [program, browserPath = "/usr/bin/chromium"] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const data = mkdtempSync(join(tmpdir(), "workspace-"));
const server = spawn(program, ["serve", "--no-open", "--listen", "127.0.0.1:0", "--data", data]);
const link = await new Promise((found, lost) => {
  server.stdout.on("data", (text) => {
    const match = /(http:\/\/\S+)\//.exec(text);
    if (match) found(match[1]);
  });
  server.on("exit", () => lost(new Error("the server ended")));
});
const browser = await chromium.launch({ executablePath: browserPath, args: ["--no-sandbox"] });

const PAGES = ["", "/survey", "/survey/house", "/survey/tap", "/survey/spot/1/runs", "/needs",
  "/walls", "/plans", "/flows", "/safety", "/day", "/history", "/file"];

const open = async (settings) => {
  const context = await browser.newContext(settings);
  const page = await context.newPage();
  const complaints = [];
  page.on("console", (said) => said.type() === "error" && complaints.push(said.text()));
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("request", (asked) => asked.url().startsWith(link) || complaints.push(asked.url()));
  return { context, page, complaints };
};

const plans = async (page, job) => {
  await page.goto(`${link}/jobs/${job}/plans`);
  await page.getByText("Adopt plan").first().waitFor({ timeout: 120_000 });
};

try {
  for (const colorScheme of ["light", "dark"]) {
    for (const [width, height] of [[390, 844], [1280, 900]]) {
      const { context, page, complaints } = await open({ colorScheme, viewport: { width, height } });
      await page.goto(link);
      await plans(page, "duluth-furnace");
      for (const address of ["/", ...PAGES.map((below) => `/jobs/duluth-furnace${below}`)]) {
        await page.goto(link + address);
        const where = `${address} at ${width} px, ${colorScheme}`;
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${where} is ${wide} px too wide`);
        await page.evaluate(axe);
        const { violations } = await page.evaluate(() => axe.run());
        assert.deepEqual(violations.map((found) => [found.id, found.nodes[0].html]), [], where);
      }
      assert.deepEqual(complaints, []);
      await context.close();
    }
  }

  // A phone without script: an answer is kept, undone, a plan adopted.
  const phone = await open({ javaScriptEnabled: false, viewport: { width: 390, height: 844 } });
  await phone.page.goto(`${link}/jobs/light/survey/house`);
  await phone.page.getByLabel("Bedrooms").fill("4");
  await phone.page.getByRole("button", { name: "Keep the answers" }).click();
  assert.equal(await phone.page.getByLabel("Bedrooms").inputValue(), "4");
  await phone.page.goto(`${link}/jobs/light/history`);
  await phone.page.getByRole("button", { name: "Undo" }).click();
  await phone.page.goto(`${link}/jobs/light/survey/house`);
  assert.equal(await phone.page.getByLabel("Bedrooms").inputValue(), "3");
  await plans(phone.page, "light");
  await phone.page.getByRole("button", { name: "Adopt plan 1" }).click();
  await phone.page.getByRole("heading", { name: "What flows where" }).waitFor();
  await phone.context.close();

  // With script an answer shows what follows before it is kept, and what is wrong with it.
  const desk = await open({ viewport: { width: 1280, height: 900 } });
  await desk.page.goto(`${link}/jobs/light/survey/house`);
  const follows = desk.page.locator("#follows");
  const before = await follows.innerText();
  await desk.page.getByLabel("Bedrooms").fill("6");
  await desk.page.keyboard.press("Tab");
  await desk.page.waitForFunction((text) => document.getElementById("follows").innerText !== text, before);
  await desk.page.getByLabel("Altitude").fill("40");
  await desk.page.keyboard.press("Tab");
  await desk.page.getByText("has no unit").waitFor();
  assert.deepEqual(desk.complaints, []);
  await desk.page.goto(`${link}/jobs/light/survey/house`);
  assert.equal(await follows.innerText(), before);

  console.log(`every page of the workspace holds in ${browser.version()}`);
} finally {
  await browser.close();
  server.kill("SIGKILL");
  rmSync(data, { recursive: true, force: true });
}
