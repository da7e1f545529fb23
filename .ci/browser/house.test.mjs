// The house drawing: switching the case, turning a damper by pointer and by keys, what is kept, and
// figures that explain themselves; on a phone and on a desk, in both themes.
import assert from "node:assert/strict";
import { DESK, PHONE, everySheet, holds, open, withWorkspace } from "./harness.mjs";

const HOUSES = ["duluth-furnace", "flagstaff-crawlspace", "tallahassee-heat-pump"];
const figure = (page, key) => page.locator(`#figure-${key}`).innerText();
const lever = (page, air) => page.locator(`.lever[data-damper=${air}]:visible`);

/** Drags a lever to about an angle; the times after which the balance had changed. */
const drag = async (page, air, angles) => {
  const at = await lever(page, air).evaluate((lever) => {
    const pair = (name) => lever.dataset[name].split(" ").map(Number);
    const [pivot, along, side] = ["pivot", "along", "side"].map(pair);
    const matrix = lever.parentNode.getScreenCTM();
    const place = (angle, far) => {
      const [a, s] = [Math.cos(angle * Math.PI / 180), Math.sin(angle * Math.PI / 180)];
      const x = pivot[0] + far * (a * along[0] + s * side[0]);
      const y = pivot[1] + far * (a * along[1] + s * side[1]);
      const point = new DOMPoint(x, y).matrixTransform(matrix);
      return [point.x, point.y];
    };
    return { from: place(Number(lever.dataset.angle), 24), angles: [...Array(91).keys()].map((angle) => place(angle, 24)) };
  });
  // Measured in the page, from the move of the pointer to the new figure.
  await page.evaluate(() => {
    const seen = { times: [], began: 0 };
    window.seen = seen;
    addEventListener("pointermove", () => { seen.began ||= performance.now(); }, true);
    new MutationObserver(() => {
      if (seen.began) seen.times.push(performance.now() - seen.began);
      seen.began = 0;
    }).observe(document.getElementById("figure-balance"), { characterData: true, childList: true, subtree: true });
  });
  await page.mouse.move(...at.from);
  await page.mouse.down();
  for (const angle of angles) {
    const before = await figure(page, "balance");
    await page.evaluate(() => { window.seen.began = 0; });
    await page.mouse.move(...at.angles[angle]);
    await page.waitForFunction((text) => document.getElementById("figure-balance").innerText !== text, before);
    await page.waitForTimeout(300);
  }
  return page.evaluate(() => window.seen.times);
};

await withWorkspace(async ({ browser, link }) => {
  await everySheet(browser, link, async (page, sheet) => {
    for (const house of HOUSES) {
      await page.goto(`${link}/jobs/${house}/flows`);
      await page.locator("#house:not([data-pending])").waitFor();
      await holds(page, `${house} ${sheet}`);
      const small = await page.evaluate(() => {
        const scale = (text) => text.ownerSVGElement.getScreenCTM().a;
        const texts = [...document.querySelectorAll("#house svg text tspan, #house svg text:not(:has(tspan))")];
        const seen = texts.filter((text) => text.getBoundingClientRect().width > 0);
        return seen.map((text) => [parseFloat(getComputedStyle(text).fontSize) * scale(text.closest("text")), text.textContent])
          .filter(([size]) => size < 10.9);
      });
      if (page.viewportSize().width < 500) assert.deepEqual(small, [], `${house} ${sheet}`);
    }
    // A figure explains itself in a dialog that a key closes.
    await page.locator("#figure-balance").click();
    await page.getByRole("dialog").getByText("How it comes about").waitFor();
    await holds(page, `the explanation ${sheet}`);
    await page.keyboard.press("Escape");
    await page.getByRole("dialog").waitFor({ state: "hidden" });
  });

  for (const [viewport, hasTouch] of [[DESK, false], [PHONE, true]]) {
    const desk = await open(browser, link, { viewport, hasTouch });
    const { page } = desk;
    await page.goto(`${link}/jobs/duluth-furnace/flows`);
    await page.locator("#house:not([data-pending])").waitFor();

    // The lever answers while it is dragged.
    await lever(page, "supply").scrollIntoViewIfNeeded();
    const times = await drag(page, "supply", [10, 25, 50, 60, 70]);
    // Of five steps three, so that a machine that is busy with something else may miss some.
    const [, , middle] = times.sort((one, other) => one - other);
    assert.ok(times.length >= 5 && middle < 300, `the figures followed after ${times} ms`);
    await page.mouse.up();
    const angle = Number(await page.locator("#supply_damper").inputValue());
    assert.ok(Math.abs(angle - 70) <= 3, `${angle}`);
    assert.equal(await lever(page, "supply").getAttribute("aria-valuenow"), String(angle));
    await page.locator("#house:not([data-pending])").waitFor();

    // By keys, and shut is the end.
    await lever(page, "extract").focus();
    await page.keyboard.press("PageUp");
    await page.keyboard.press("ArrowRight");
    await page.waitForFunction(() => document.activeElement.dataset.angle === "11");
    assert.equal(await page.locator("#extract_damper").inputValue(), "11");
    assert.match(await lever(page, "extract").getAttribute("aria-valuetext"), /11 degrees, part closed/);
    const focused = await page.evaluate(() => document.activeElement.dataset.damper);
    assert.equal(focused, "extract", "the lever keeps the focus");

    // What is kept stands in the file; the program can take it back.
    await page.getByRole("button", { name: "Keep these dampers" }).click();
    await page.getByText("They stand as the job says.").waitFor();
    const file = async () => (await page.request.get(`${link}/jobs/duluth-furnace/file.toml`)).text();
    assert.match(await file(), new RegExp(`supply_damper = "${angle}°"`));
    assert.match(await file(), /extract_damper = "11°"/);
    await page.getByRole("button", { name: "Let the program set them" }).click();
    await page.getByText("The program has set them").waitFor();
    assert.ok(!(await file()).includes("supply_damper"));

    // Switching the case moves what is there; back leads back.
    const told = (loop) => page.waitForFunction(
      (wanted) => /drawn straight back/.test(document.querySelector("#house .told").innerText) === wanted, loop);
    await told(true);
    await page.locator("input[name=blower][value=heating]").check();
    await told(false);
    assert.match(page.url(), /blower=heating/);
    await page.goBack();
    await told(true);
    assert.ok(await page.locator("input[name=blower][value=off]").isChecked());
    const drawn = await page.locator("#house svg.section:visible").count();
    assert.equal(drawn, 1, "one drawing is seen");
    assert.deepEqual(desk.complaints, []);
    await desk.context.close();
  }

  // An arrow moves through places between; with reduced motion it is there at once.
  for (const reducedMotion of ["no-preference", "reduce"]) {
    const { page, context } = await open(browser, link, { viewport: DESK, reducedMotion });
    await page.goto(`${link}/jobs/duluth-furnace/flows?blower=heating`);
    await page.locator("#house:not([data-pending])").waitFor();
    const steps = await page.evaluate(async () => {
      const turns = document.querySelector("#house-section-wide-turns-supply");
      const arrow = document.querySelector("#house-section-wide-shaft-supply-0-0");
      const seen = new Set();
      const watch = new MutationObserver(() => seen.add(arrow.getAttribute("d")));
      watch.observe(arrow, { attributes: true });
      const input = document.querySelector("input[name=setting][value=low]");
      input.click();
      await new Promise((done) => setTimeout(done, 900));
      return turns && seen.size;
    });
    if (reducedMotion === "reduce") assert.ok(steps <= 1, `${steps} steps`);
    else assert.ok(steps >= 2, `${steps} steps`);
    await context.close();
  }

  // Without script the same by buttons.
  const plain = await open(browser, link, { viewport: PHONE, javaScriptEnabled: false });
  await plain.page.goto(`${link}/jobs/tallahassee-heat-pump/flows`);
  await plain.page.locator("input[name=blower][value=heating]").check({ force: true });
  await plain.page.getByLabel("Supply damper").fill("30");
  await plain.page.getByRole("button", { name: "Show" }).click();
  assert.match(plain.page.url(), /blower=heating/);
  await plain.page.getByRole("button", { name: "Keep these dampers" }).click();
  await plain.page.getByText("They stand as the job says.").waitFor();
  await plain.page.locator("#figure-balance").click();
  await plain.page.getByRole("heading", { name: "How it comes about" }).waitFor();
  await plain.context.close();

  console.log("the house drawing answers, moves and explains itself");
});
