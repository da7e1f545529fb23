// What every browser test needs: the program with an empty folder, a real browser, and the checks
// that hold on every page. Usage of a test: node TEST.mjs PROGRAM [CHROMIUM]
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { HtmlValidate, StaticConfigLoader } from "html-validate";
import { chromium } from "playwright-core";

const [program, browserPath = "/usr/bin/chromium"] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

const html = new HtmlValidate(new StaticConfigLoader({ root: true, extends: ["html-validate:standard"] }));

export const PHONE = { width: 390, height: 844 };
export const DESK = { width: 1280, height: 900 };

/** Starts the program on a folder and tells its link. */
export const serve = async (data) => {
  const server = spawn(program, ["serve", "--no-open", "--listen", "127.0.0.1:0", "--data", data]);
  const link = await new Promise((found, lost) => {
    server.stdout.on("data", (text) => {
      const match = /(http:\/\/\S+)\//.exec(text);
      if (match) found(match[1]);
    });
    server.on("exit", () => lost(new Error("the server ended")));
  });
  return { server, link };
};

/** Runs a test with a server of its own and a browser. */
export const withWorkspace = async (test) => {
  const data = mkdtempSync(join(tmpdir(), "workspace-"));
  const { server, link } = await serve(data);
  const browser = await chromium.launch({ executablePath: browserPath, args: ["--no-sandbox"] });
  try {
    await test({ browser, link, server, data });
  } finally {
    await browser.close();
    server.kill("SIGKILL");
    rmSync(data, { recursive: true, force: true });
  }
};

/** A page of its own context; what it complains of, and what it asks of other places, is kept. */
export const open = async (browser, link, settings) => {
  const context = await browser.newContext(settings);
  const page = await context.newPage();
  const complaints = [];
  page.on("console", (said) => said.type() === "error" && complaints.push(said.text()));
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("request", (asked) => {
    const own = asked.url().startsWith(link) || /^(blob|data):/.test(asked.url());
    if (!own) complaints.push(asked.url());
  });
  return { context, page, complaints };
};

/** A page as it is sent is valid HTML. */
const valid = async (page, where) => {
  const { results } = await html.validateString(await (await page.request.get(page.url())).text());
  const found = results.flatMap(({ messages }) => messages);
  assert.deepEqual(found.map(({ line, ruleId, message }) => [line, ruleId, message]), [], where);
};

/** The page is valid HTML and not wider than its window, and axe-core finds nothing. */
export const holds = async (page, where) => {
  await valid(page, where);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(wide <= 0, `${where} is ${wide} px too wide`);
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => axe.run());
  assert.deepEqual(violations.map((found) => [found.id, found.nodes[0].html]), [], where);
};

/** Calls a function for both widths and both themes. */
export const everySheet = async (browser, link, test) => {
  for (const colorScheme of ["light", "dark"]) {
    for (const viewport of [PHONE, DESK]) {
      const { context, page, complaints } = await open(browser, link, { colorScheme, viewport });
      await test(page, `at ${viewport.width} px, ${colorScheme}`);
      assert.deepEqual(complaints, []);
      await context.close();
    }
  }
};

/** Waits until a job's plans are found. */
export const plans = async (page, link, job) => {
  await page.goto(`${link}/jobs/${job}/plans`);
  await page.getByText("Adopt plan").first().waitFor({ timeout: 120_000 });
};
