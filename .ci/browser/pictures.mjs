// Draws the pictures of README.md and docs/workspace.md anew from the pages themselves.
// Usage: node pictures.mjs PROGRAM [CHROMIUM]
import { DESK, PHONE, open, withWorkspace } from "./harness.mjs";

const FOLDER = "../../docs/workspace";

await withWorkspace(async ({ browser, link }) => {
  const desk = await open(browser, link, { viewport: DESK });
  await desk.page.goto(`${link}/jobs/duluth-furnace/flows`);
  await desk.page.waitForTimeout(3000);
  await desk.page.screenshot({ path: `${FOLDER}/house.png` });
  await desk.page.goto(`${link}/jobs/duluth-furnace/walls/1`);
  await desk.page.waitForTimeout(1000);
  await desk.page.screenshot({ path: `${FOLDER}/wall.png` });
  await desk.context.close();

  const phone = await open(browser, link, { viewport: PHONE });
  const { page } = phone;
  await page.goto(`${link}/jobs/duluth-furnace/survey/walk/10`);
  await page.screenshot({ path: `${FOLDER}/question.png` });
  await page.goto(`${link}/jobs/duluth-set-up/day`);
  await page.getByLabel("Who reads").fill("R. Aune");
  await page.getByRole("button", { name: "Begin the day" }).click();
  for (const value of ["0.372", "0.605"]) {
    await page.locator("#read-value").fill(value);
    await page.getByRole("button", { name: "Keep the reading" }).click();
    await page.waitForLoadState();
  }
  await page.locator("#turn-value").fill("0.55");
  await page.screenshot({ path: `${FOLDER}/day.png` });
  await phone.context.close();
});
