// The program is killed while the workspace is open: what was kept stands there after the next start.
import assert from "node:assert/strict";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { DESK, open, serve, withWorkspace } from "./harness.mjs";

await withWorkspace(async ({ browser }) => {
  const data = mkdtempSync(join(tmpdir(), "killed-"));
  try {
    let kept = "3";
    for (let round = 0; round < 6; round += 1) {
      const { server, link } = await serve(data);
      const { context, page } = await open(browser, link, { viewport: DESK });
      await page.goto(`${link}/jobs/light/survey/house`);
      assert.equal(await page.getByLabel("Bedrooms").inputValue(), kept, `round ${round}`);
      kept = String(2 + (round % 5));
      await page.getByLabel("Bedrooms").fill(kept);
      await page.getByRole("button", { name: "Keep the answers" }).click();
      await page.waitForURL((url) => url.pathname.includes("/survey/house"));
      assert.equal(await page.getByLabel("Bedrooms").inputValue(), kept);
      // In the middle of the next change: it may be lost, what was kept before may not.
      const gone = once(server, "exit");
      const cut = page.request.post(`${link}/jobs/light/name`, { form: { version: "0", name: "cut off" } }).catch(() => {});
      server.kill("SIGKILL");
      await Promise.all([gone, cut]);
      // The page that is still open says nothing wrong: the next press simply finds nobody.
      await context.close();
    }
    const { server, link } = await serve(data);
    const { context, page } = await open(browser, link, { viewport: DESK });
    await page.goto(`${link}/jobs/light/survey/house`);
    assert.equal(await page.getByLabel("Bedrooms").inputValue(), kept);
    await page.goto(`${link}/jobs/light/history`);
    assert.ok((await page.getByText(/bedrooms/i).count()) >= 5, "every change stands in the history");
    await context.close();
    server.kill("SIGKILL");
  } finally {
    rmSync(data, { recursive: true, force: true });
  }
  console.log("what was kept stands there after each of 6 kills");
});
