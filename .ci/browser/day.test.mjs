// The set-up day of the example house, from the first reading to the signed record and the revisit:
// on a phone with script, on a wide screen without it.
import assert from "node:assert/strict";
import { DESK, PHONE, everySheet, holds, open, withWorkspace } from "./harness.mjs";

const JOB = "/jobs/duluth-set-up";
const PAGES = ["/day", "/day/checks", "/day/combustion", "/day/record", "/day/revisit"];

await withWorkspace(async ({ browser, link }) => {
  // Holds on every page of the day, in both sizes and themes, as it stands now.
  const everyPage = (what, pages = PAGES) =>
    everySheet(browser, link, async (page, sheet) => {
      for (const below of pages) {
        await page.goto(link + JOB + below);
        await holds(page, `${below}, ${what}, ${sheet}`);
      }
    });

  const phone = await open(browser, link, { viewport: PHONE, timezoneId: "America/Chicago" });
  const { page } = phone;
  const has = (words) => page.getByText(words).first().waitFor();
  const keep = async (id, value, button) => {
    await page.locator(id).fill(value);
    await page.getByRole("button", { name: button }).click();
    await page.waitForLoadState();
  };

  await page.goto(link + JOB + "/day");
  await everyPage("before it begins");
  await page.getByLabel("Who reads").fill("R. Aune");
  await page.getByLabel("Temperature outdoors").fill("51");
  await page.getByLabel("Temperature indoors").fill("69");
  await page.getByRole("button", { name: "Begin the day" }).click();
  await has("Read supply station.");
  await everyPage("at the first reading", ["/day"]);

  // The needle follows what is typed; what is typed and the button are in the thumb's reach.
  const needle = page.locator("[data-needle]");
  const place = async () => Number(/\(([\d.]+)/.exec(await needle.getAttribute("transform"))[1]);
  await page.locator("#read-value").fill("0.40");
  const before = await place();
  await page.locator("#read-value").fill("0.48");
  assert.ok((await place()) > before, "the needle moves up");
  await has("Within what is likely.");
  await page.getByLabel("Unit").first().selectOption("Pa");
  await has("Outside of what is likely.");
  await page.getByLabel("Unit").first().selectOption("inWC");
  const button = await page.getByRole("button", { name: "Keep the reading" }).boundingBox();
  assert.ok(button.y > PHONE.height / 2 && button.y + button.height <= PHONE.height, "button in reach");
  assert.ok(button.height >= 48);
  await keep("#read-value", "0.372", "Keep the reading");

  // What is sure stays in sight.
  await page.evaluate(() => scrollTo(0, 900));
  const strip = await page.locator(".certainty").boundingBox();
  assert.ok(strip.y >= 0 && strip.y < 5, "the certainty stays at the top");

  await page.getByLabel("below zero").first().check();
  await keep("#read-value", "0.605", "Keep the reading");
  await has("the hoses were probably exchanged");
  await everyPage("with the hoses exchanged", ["/day"]);
  await page.getByRole("button", { name: "Count it so" }).click();
  await has("Close the extract damper until extract station shows");
  await everyPage("while a damper is turned", ["/day"]);
  await page.locator("#turn-value").fill("0.55");
  await has("Go on; ");
  await page.locator("#turn-value").fill("0.41");
  await has("Too far, go back; ");
  await page.locator("#turn-value").fill("0.454");
  await has("There: leave it and lock it.");
  await keep("#mark", "55", "It is set: keep it");
  await has("Read supply station.");

  // A photo is made smaller before it is sent, and shown.
  const photo = await page.evaluate(async () => {
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [4000, 3000];
    const paper = canvas.getContext("2d");
    for (let at = 0; at < 4000; at += 40) {
      paper.fillStyle = `hsl(${at} 60% 50%)`;
      paper.fillRect(at, 0, 40, 3000);
    }
    const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
    return [...new Uint8Array(await blob.arrayBuffer())];
  });
  await page.locator("#read-photo").setInputFiles({
    name: "manometer.png",
    mimeType: "image/png",
    buffer: Buffer.from(photo),
  });
  await keep("#read-value", "0.369", "Keep the reading");
  await has("Read static pressure at the supply port.");
  await keep("#read-value", "0.150", "Keep the reading");
  await has("Sure by 96 %");
  const thumbnail = page.locator(".thumbnail img").first();
  await thumbnail.scrollIntoViewIfNeeded();
  await page.waitForFunction(() => document.querySelector(".thumbnail img").naturalWidth > 0);
  assert.equal(await thumbnail.evaluate((image) => image.naturalWidth), 1600);

  // The journal is the file that the command line goes on from, by the clock of the place.
  const [file] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("link", { name: "Fetch the journal" }).click(),
  ]);
  assert.equal(file.suggestedFilename(), "duluth-set-up.journal");
  const entry = await page.evaluate(
    async (address) => (await (await fetch(address)).text()).split("\n")[0],
    `${JOB}/day/duluth-set-up.journal`,
  );
  assert.match(JSON.parse(entry).time, /-0[56]:00$/);

  await page.getByRole("link", { name: "Go on with the checks" }).click();
  await has("10 things are still to be looked at.");
  for (const item of ["Power", "Drain", "Insulation", "Hoods", "Filters", "Dampers", "Labels", "Sound"]) {
    await page.getByRole("button", { name: `${item} is good` }).click();
    await page.waitForLoadState();
  }
  await page.goto(link + JOB + "/day/combustion");
  await page.getByLabel("Tested by, with the licence").fill("L. Tove, licence 88");
  await page.getByLabel("Worst pressure").fill("-2.1");
  await page.getByRole("button", { name: "Good", exact: true }).click();
  await has("worst pressure -2.1 Pa");
  await phone.context.close();

  // A wide screen without script goes on: a reading in the other mode proves the interlock.
  const desk = await open(browser, link, { viewport: DESK, javaScriptEnabled: false });
  await desk.page.goto(link + JOB + "/day");
  await desk.page.getByText("Something else was read or done").click();
  await desk.page.locator("#other-at").selectOption("supply station");
  await desk.page.locator("#other-value").fill("0.384");
  await desk.page.getByLabel("Blower").first().selectOption("heating");
  await desk.page.getByRole("button", { name: "Keep this reading" }).click();
  await desk.page.goto(link + JOB + "/day/checks");
  await desk.page.getByText("All are as they should be.").waitFor();
  await everyPage("when all is good");
  await desk.page.goto(link + JOB + "/day/record");
  await desk.page.getByRole("button", { name: "Sign off" }).click();
  await desk.page.getByText("The record is what was signed").waitFor();
  const record = new URL(desk.page.url()).pathname.slice(JOB.length);
  await everyPage("signed", [record, ""]);
  const step = desk.page.locator(".steps li", { hasText: "Set-up day" });
  assert.match(await step.innerText(), /done/);

  // A year later.
  await desk.page.goto(link + JOB + "/day/revisit");
  await desk.page.getByLabel("Temperature outdoors").fill("46");
  await desk.page.getByRole("button", { name: "Begin the revisit" }).click();
  for (const value of ["0.281", "0.457", "0.291", "0.110"]) {
    await desk.page.locator("#read-value").fill(value);
    await desk.page.getByRole("button", { name: "Keep the reading" }).click();
  }
  await desk.page.getByText("moves less supply air").first().waitFor();
  await everyPage("at the revisit", ["/day", "/day/revisit"]);
  assert.deepEqual(phone.complaints.concat(desk.complaints), []);
  await desk.context.close();
  console.log(`the set-up day holds in ${browser.version()}`);
});
