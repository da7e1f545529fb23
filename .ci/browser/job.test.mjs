// The whole job of one house: from an empty survey over walls, plans and the house drawing to a
// balanced set-up day, on a phone and at a desk. The manometer shows what the page foretells.
import assert from "node:assert/strict";
import { DESK, PHONE, holds, open, withWorkspace } from "./harness.mjs";
import { atTheDesk, begin, onThePhone } from "./walk.mjs";

const STATIONS = [
  ["supply station", "supply", "0.10 inWC, 55 cfm; 0.20 inWC, 79 cfm; 0.40 inWC, 113 cfm; 0.60 inWC, 139 cfm"],
  ["extract station", "extract", "0.10 inWC, 53 cfm; 0.20 inWC, 76 cfm; 0.40 inWC, 109 cfm; 0.60 inWC, 134 cfm"],
];

/** Types what the scale of a form aims at, in the unit that stands beside the field. */
const typeAim = (page, id) => page.locator(id).evaluate((field) => {
  const { aim } = field.form.querySelector("[data-scale]").dataset;
  const { factor } = field.form.elements.unit.selectedOptions[0].dataset;
  field.value = (Number(aim) / Number(factor)).toFixed(3);
  field.dispatchEvent(new Event("input", { bubbles: true }));
});

const wholeJob = async (page, link, name, sheet) => {
  await begin(page, link, name);
  const job = new URL(page.url()).pathname.split("/").slice(0, 3).join("/");
  const quietly = async () => {};
  await (page.viewportSize().width < 700 ? onThePhone(page, link, quietly) : atTheDesk(page, link + job, quietly));
  for (const step of ["/needs", "/walls"]) {
    await page.goto(link + job + step);
    await holds(page, `${step} ${sheet}`);
  }
  await page.goto(`${link}${job}/plans`);
  await page.getByRole("button", { name: "Adopt plan 1", exact: true }).waitFor({ timeout: 120_000 });
  await holds(page, `plans ${sheet}`);
  await page.getByRole("button", { name: "Adopt plan 1", exact: true }).click();
  await page.getByRole("heading", { name: "What flows where" }).waitFor();
  await holds(page, `flows ${sheet}`);
  for (const [place, [station, meets, chart]] of STATIONS.entries()) {
    await page.goto(`${link}${job}/survey/station`);
    await page.locator("#add-first").fill(station);
    await page.getByRole("button", { name: "Add", exact: true }).click();
    await page.waitForURL(`**/survey/station/${place + 1}`);
    await page.locator("#q-meets").fill(meets);
    await page.locator("#q-device").selectOption("chart");
    await page.locator("#q-chart").fill(chart);
    await page.locator("#q-uncertainty").fill("3 %");
    await page.getByRole("button", { name: "Keep the answers" }).click();
    await page.waitForLoadState();
  }
  await page.goto(`${link}${job}/day`);
  await page.getByLabel("Who reads").fill("R. Aune");
  await page.getByRole("button", { name: "Begin the day" }).click();
  const onward = page.getByRole("link", { name: "Go on with the checks" });
  let readings = 0;
  for (let step = 0; ; step += 1) {
    await page.waitForLoadState();
    await page.locator("#read-value, #turn-value").or(onward).first().waitFor();
    if (await onward.isVisible()) break;
    assert.ok(step < 16, `the day has an end: ${await page.locator("main").innerText()}`);
    if (await page.locator("#turn-value").count()) {
      await typeAim(page, "#turn-value");
      await page.getByRole("button", { name: "It is set: keep it" }).click();
    } else {
      await typeAim(page, "#read-value");
      await page.getByRole("button", { name: "Keep the reading" }).click();
      readings += 1;
    }
  }
  assert.ok(readings >= 2, "both streams were read");
  const sure = await page.locator(".certainty").innerText();
  assert.match(sure, /Sure by (more than 99|9[5-9])/);
  await holds(page, `the end of the day ${sheet}`);
  return readings;
};

await withWorkspace(async ({ browser, link }) => {
  for (const [name, viewport] of [["Phone house", PHONE], ["Desk house", DESK]]) {
    const { context, page, complaints } = await open(browser, link, { viewport });
    const readings = await wholeJob(page, link, name, `at ${viewport.width} px`);
    assert.deepEqual(complaints, []);
    console.log(`${name}: from an empty survey to a balanced day with ${readings} readings`);
    await context.close();
  }
});
