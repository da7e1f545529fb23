// Every page of an example house in both sizes and both themes; an answer with and without script.
import assert from "node:assert/strict";
import { DESK, PHONE, everySheet, holds, open, plans, withWorkspace } from "./harness.mjs";

const PAGES = ["", "/survey", "/survey/house", "/survey/tap", "/survey/spot/1/runs", "/survey/walk", "/needs",
  "/walls", "/walls/why/1/intake", "/plans", "/plans/1", "/plans/table", "/flows", "/flows/why/balance", "/safety",
  "/day", "/history", "/file"];

await withWorkspace(async ({ browser, link }) => {
  await everySheet(browser, link, async (page, sheet) => {
    await page.goto(link);
    await plans(page, link, "duluth-furnace");
    for (const address of ["/", ...PAGES.map((below) => `/jobs/duluth-furnace${below}`)]) {
      await page.goto(link + address);
      await holds(page, `${address} ${sheet}`);
    }
  });

  // A phone without script: an answer is kept, undone, a plan adopted.
  const phone = await open(browser, link, { javaScriptEnabled: false, viewport: PHONE });
  await phone.page.goto(`${link}/jobs/light/survey/house`);
  await phone.page.getByLabel("Bedrooms").fill("4");
  await phone.page.getByRole("button", { name: "Keep the answers" }).click();
  assert.equal(await phone.page.getByLabel("Bedrooms").inputValue(), "4");
  await phone.page.goto(`${link}/jobs/light/history`);
  await phone.page.getByRole("button", { name: "Undo" }).click();
  await phone.page.goto(`${link}/jobs/light/survey/house`);
  assert.equal(await phone.page.getByLabel("Bedrooms").inputValue(), "3");
  await plans(phone.page, link, "light");
  await phone.page.getByRole("button", { name: "Adopt plan 1" }).click();
  await phone.page.getByRole("heading", { name: "What flows where" }).waitFor();
  await phone.context.close();

  // With script an answer shows what follows before it is kept, and what is wrong with it.
  const desk = await open(browser, link, { viewport: DESK });
  await desk.page.goto(`${link}/jobs/light/survey/house`);
  // Bands are computed in idle time and follow the page; wait until they are there.
  const follows = desk.page.locator("#follows");
  const settled = () => desk.page.waitForFunction(() => !document.querySelector("#follows [data-again]"));
  await settled();
  const before = await follows.innerText();
  await desk.page.getByLabel("Bedrooms").fill("6");
  await desk.page.keyboard.press("Tab");
  await desk.page.waitForFunction((text) => document.getElementById("follows").innerText !== text, before);
  await desk.page.getByLabel("Altitude").fill("40");
  await desk.page.keyboard.press("Tab");
  await desk.page.getByText("has no unit").waitFor();
  assert.deepEqual(desk.complaints, []);
  await desk.page.goto(`${link}/jobs/light/survey/house`);
  await settled();
  assert.equal(await follows.innerText(), before);

  console.log(`every page of the workspace holds in ${browser.version()}`);
});
