// The wall on which things are moved: with a finger, a mouse, the arrow keys, and without script.
import assert from "node:assert/strict";
import { DESK, PHONE, everySheet, holds, open, withWorkspace } from "./harness.mjs";

const PAGE = "/jobs/duluth-furnace/walls/1";

const middle = async (page, what) => {
  const box = await page.locator(`a.grip[data-what="${what}"] .mark, a.grip[data-what="${what}"] .thing`).first().boundingBox();
  return [box.x + box.width / 2, box.y + box.height / 2];
};

const file = (page) => page.evaluate(async () => (await fetch(`${location.pathname.replace(/\/walls.*/, "")}/file.toml`)).text());

await withWorkspace(async ({ browser, link }) => {
  // Every example house with walls, in both sizes and both themes; a terminal, a thing and a trial.
  await everySheet(browser, link, async (page, sheet) => {
    await page.goto(`${link}/jobs/duluth-furnace/walls`);
    for (const address of [PAGE, `${PAGE}?at=terminal-1`, `${PAGE}?at=object-2`,
      "/jobs/flagstaff-crawlspace/walls/5?at=terminal-4", "/jobs/tallahassee-heat-pump/walls/6"]) {
      await page.goto(link + address);
      await holds(page, `${address} ${sheet}`);
    }
    await page.goto(`${link}${PAGE}?at=terminal-1`);
    await page.getByLabel("Along the wall", { exact: true }).fill("18 ft");
    await page.keyboard.press("Tab");
    await page.locator(".verdict.bad").waitFor();
    await holds(page, `a hood that is tried ${sheet}`);
  });

  // A mouse: into what is forbidden, the broken rule within 300 ms; kept, and taken back.
  const desk = await open(browser, link, { viewport: DESK });
  const { page } = desk;
  await page.goto(link + PAGE);
  const before = await file(page);
  const verdict = page.locator(".verdict");
  const [x, y] = await middle(page, "terminal-1");
  const [kx, ky] = await middle(page, "object-2");
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 20, y - 10, { steps: 4 });
  await verdict.getByText("Allowed here").waitFor();
  const times = [];
  for (const side of [0, 1, 2, 3, 4]) {
    await page.mouse.move(x + 20 + side, y - 10);
    await page.locator(".verdict.good").waitFor();
    await page.evaluate(() => {
      const began = performance.now();
      const watch = new MutationObserver(() => {
        if (!document.querySelector(".verdict.bad")) return;
        watch.disconnect();
        window.took = performance.now() - began;
      });
      watch.observe(document.body, { childList: true, subtree: true });
    });
    await page.mouse.move(kx - side, ky + 40);
    await page.locator(".verdict.bad").waitFor();
    times.push(await page.evaluate(() => window.took));
  }
  const took = times.sort((a, b) => a - b)[2];
  assert.ok(took < 300, `the broken rule is shown after ${times.map(Math.round)} ms`);
  await verdict.getByText(/from the kitchen exhaust, at least \d+ ft asked \(.+\)/).waitFor();
  assert.ok((await page.locator(".say").textContent()).trim() !== "", "the distance is drawn");
  await page.mouse.up();
  await verdict.getByText("Not kept yet").waitFor();
  assert.equal(await file(page), before);
  // Back to an allowed place by one press, then kept.
  await page.getByRole("button", { name: "Move it to the nearest allowed place" }).click();
  await page.locator(".verdict.good").waitFor();
  await page.getByRole("button", { name: "Keep" }).click();
  await page.getByText("Kept in the job.").waitFor();
  const after = await file(page);
  assert.notEqual(after, before);
  const changed = after.split("\n").filter((line, index) => line !== before.split("\n")[index]);
  assert.ok(changed.length > 0 && changed.every((line) => /^(along|height) = ".+"$/.test(line)), changed.join("\n"));
  await page.getByRole("button", { name: "Undo" }).click();
  await page.getByText("Kept in the job.").waitFor({ state: "detached" });
  assert.equal(await file(page), before);

  // Put back forgets.
  await page.mouse.move(...await middle(page, "object-1"));
  await page.mouse.down();
  const [wx, wy] = await middle(page, "object-1");
  await page.mouse.move(wx + 60, wy + 10, { steps: 3 });
  await page.mouse.up();
  await page.getByText("Not kept yet").waitFor();
  await page.getByRole("link", { name: "Put back" }).click();
  await page.getByText("Not kept yet").waitFor({ state: "detached" });
  assert.equal(await file(page), before);

  // The arrow keys: an inch, with shift six; what is moved keeps the focus.
  await page.goto(`${link}${PAGE}?at=terminal-1`);
  const along = page.getByLabel("Along the wall", { exact: true });
  assert.equal(await along.inputValue(), "9 ft");
  await page.locator('a.grip[data-what="terminal-1"]').focus();
  await page.keyboard.press("ArrowRight");
  await page.waitForFunction(() => document.getElementById("along").value === "9 ft 1 in");
  await page.keyboard.press("Shift+ArrowRight");
  await page.waitForFunction(() => document.getElementById("along").value === "9 ft 7 in");
  assert.equal(await page.evaluate(() => document.activeElement.dataset.what), "terminal-1");
  // Another thing is chosen by the keyboard.
  await page.locator('a.grip[data-what="object-1"]').focus();
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: "Kitchen window" }).waitFor();

  // A new thing where the wall is clicked.
  await page.goto(link + PAGE);
  await page.getByLabel("What it is").selectOption("dryer outlet");
  const board = await page.locator(".board svg").boundingBox();
  await page.mouse.click(board.x + board.width * 0.85, board.y + board.height * 0.5);
  await page.getByRole("heading", { name: "Dryer outlet" }).waitFor();
  await page.getByRole("button", { name: "Take it away" }).click();
  await page.getByText("Kept in the job.").waitFor();
  assert.equal(await file(page), before);
  assert.deepEqual(desk.complaints, []);
  await desk.context.close();

  // A finger on a phone: the thing follows it, the page and the drawing still scroll beside it.
  const phone = await open(browser, link, { viewport: PHONE, hasTouch: true, isMobile: true });
  await phone.page.goto(`${link}${PAGE}?at=terminal-1`);
  const touch = await phone.context.newCDPSession(phone.page);
  const finger = (type, at) => touch.send("Input.dispatchTouchEvent", { type, touchPoints: at ? [{ x: at[0], y: at[1] }] : [] });
  await phone.page.evaluate(() => document.querySelector(".board").scrollIntoView());
  const [fx, fy] = await middle(phone.page, "terminal-1");
  const scrolled = await phone.page.evaluate(() => scrollY);
  await finger("touchStart", [fx, fy]);
  for (const step of [1, 2, 3, 4, 5]) await finger("touchMove", [fx + 8 * step, fy - 16 * step]);
  await finger("touchEnd");
  await phone.page.getByText("Not kept yet").waitFor();
  assert.equal(await phone.page.evaluate(() => scrollY), scrolled, "the page stays while a thing is dragged");
  const sizes = await phone.page.locator("a.grip .hit").evaluateAll((all) => all.map((one) => {
    const box = one.getBoundingClientRect();
    return Math.min(box.width, box.height);
  }));
  assert.ok(sizes.every((size) => size >= 43.9), `a finger hits ${Math.min(...sizes)} px`);
  assert.ok(await phone.page.evaluate(() => {
    const drawing = document.querySelector(".board");
    return drawing.scrollWidth > drawing.clientWidth;
  }), "a wide wall scrolls in its own region");
  assert.deepEqual(phone.complaints, []);
  await phone.context.close();

  // Without script: chosen in the drawing, tried, kept, taken back by forms.
  const plain = await open(browser, link, { javaScriptEnabled: false, viewport: DESK });
  await plain.page.goto(link + PAGE);
  await plain.page.getByRole("link", { name: "North intake", exact: true }).click();
  await plain.page.getByLabel("Along the wall", { exact: true }).fill("18 ft");
  await plain.page.getByRole("button", { name: "Try it" }).click();
  await plain.page.getByText("Not allowed here").first().waitFor();
  await plain.page.getByRole("link", { name: "Put back" }).click();
  assert.equal(await plain.page.getByLabel("Along the wall", { exact: true }).inputValue(), "9 ft");
  await plain.page.getByLabel("Along the wall", { exact: true }).fill("9 ft 6 in");
  await plain.page.getByRole("button", { name: "Keep" }).click();
  await plain.page.getByText("Kept in the job.").waitFor();
  await plain.page.getByRole("button", { name: "Undo" }).click();
  assert.equal(await plain.page.getByLabel("Along the wall", { exact: true }).inputValue(), "9 ft");
  await plain.context.close();

  console.log(`things are moved on a wall in ${browser.version()}`);
});
