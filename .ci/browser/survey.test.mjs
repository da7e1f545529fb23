// From an empty survey to plans: question by question on a phone, place by place on a desk, with
// script and without it; what an answer changes is seen before it is kept.
import assert from "node:assert/strict";
import { DESK, PHONE, holds, open, withWorkspace } from "./harness.mjs";
import { atTheDesk, begin, onThePhone } from "./walk.mjs";

await withWorkspace(async ({ browser, link }) => {
  // One question after the other on a phone, each within reach.
  const phone = await open(browser, link, { colorScheme: "light", viewport: PHONE });
  await begin(phone.page, link, "On the phone");
  const places = new Set();
  await onThePhone(phone.page, link, async (question) => {
    const place = await phone.page.getByRole("heading", { level: 1 }).innerText();
    if (!places.has(place)) await holds(phone.page, `${question} on a phone`);
    places.add(place);
    assert.equal(await phone.page.locator(".step:visible").count(), 1);
    const next = await phone.page.getByRole("button", { name: "Next ›" }).boundingBox();
    assert.ok(next.height >= 48 && next.y > PHONE.height / 2 && next.y + next.height < PHONE.height, question);
  });
  await holds(phone.page, "the end of the walk on a phone");
  // Who comes back goes on with the first question that is open.
  await phone.page.goto(`${link}/jobs/on-the-phone/survey/walk`);
  assert.ok(phone.page.url().endsWith("/end"));
  assert.deepEqual(phone.complaints, []);
  await phone.context.close();

  // All questions of a place at once on a desk, in the dark.
  const desk = await open(browser, link, { colorScheme: "dark", viewport: DESK });
  await begin(desk.page, link, "At the desk");
  await atTheDesk(desk.page, `${link}/jobs/at-the-desk`, (place) => holds(desk.page, `${place} at a desk`));

  // An answer shows what it changes for the plan before it is kept.
  await desk.page.goto(`${link}/jobs/duluth-furnace/survey/walk/10`);
  const follows = desk.page.locator("#follows");
  await follows.getByText("Worst balance").waitFor();
  await desk.page.locator("#return-pressure-0").fill("0.6");
  await desk.page.keyboard.press("Tab");
  await follows.getByText("The worst balance would go from").waitFor();
  await desk.page.locator("#blower-flow-0").fill("many");
  await desk.page.keyboard.press("Tab");
  await desk.page.locator("[data-error-for]:visible", { hasText: "many" }).first().waitFor();
  assert.deepEqual(desk.complaints, []);
  await desk.context.close();

  // Without script.
  const plain = await open(browser, link, { javaScriptEnabled: false, viewport: PHONE });
  await begin(plain.page, link, "Plain");
  await onThePhone(plain.page, link, async () => {});
  await plain.context.close();

  console.log("the survey is walked through on phone and desk, with script and without");
});
