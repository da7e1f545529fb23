// The walk through an invented house, question by question, as the tests type it.
import assert from "node:assert/strict";

// For each question its fields with what is typed or chosen, or the words of the button without them.
const ANSWERS = [
  ["Where is the house", { "Town and region": "Somewhere", "Altitude": "600" }],
  ["How much floor is heated", { "Floor area": "1500" }],
  ["How many storeys", { "Storeys above ground": "1", "Floor to ceiling": "8" }],
  ["How many bedrooms", { "Bedrooms": "3", "People who live there": "4" }],
  ["How cold and how hot", { "Winter design": "-5", "Summer design": "88" }],
  ["How much does the house leak", { "Flow at 50 Pa": "1500" }],
  ["Does anything in the house burn", { "Nothing burns in this house": "yes" }],
  ["What drives the blower", { "Motor": "induction motor on a speed tap", "It heats with a furnace": "no" }],
  ["How much air does the blower", { "Blower flow in heating": "850" }],
  ["How far below the house", { "Below the house": "0.24" }],
  ["How far above the house", { "Above the house": "0.20" }],
  ["What does the filter", "I could not measure this"],
  ["And in cooling", "There is no other mode"],
  ["How long is the return trunk", { "Length of the return trunk": "24", "Inner size of the return trunk": "8", "Inner size of the return trunk, other side; empty for a round duct": "16" }],
  ["How long is the supply trunk", "I could not measure this"],
  ["Where could a duct be tapped", { "Name of this tap": "return end", "From the blower, along the duct": "20" }],
  ["And where else", { "Name of this tap": "second tap", "From the blower, along the duct": "12" }],
  ["Can a room have a grille", { "It is for": "extract air" }],
  ["Where may the unit hang", { "Name of this place": "utility room" }],
  ["Is there a drain", "As usual: all of it is there"],
  ["Which wall may be pierced", { "Name of this wall": "north wall", "It faces": "north", "Width": "38", "Height to the eaves": "9" }],
  ["How deep does snow", "It does not snow there"],
  ["Where may a hood go", { "It is for": "intake and exhaust through one opening", "Along the wall, from its left corner": "18", "Above the ground": "5" }],
  ["And the other hood", "There is no second hood"],
  ["How far is it from the unit", { "To return end": "8", "To second tap": "6", "To bath grille": "18", "To first hood": "7" }],
  ["From which units", { "Catalogue": "catalogue.toml" }],
];
const answerOf = (question) => {
  const found = ANSWERS.find(([words]) => question.includes(words));
  assert.ok(found, `nobody expected: ${question}`);
  return found[1];
};

const fill = async (section, answer) => {
  for (const [label, value] of Object.entries(answer)) {
    const field = section.locator(".ask").getByLabel(label).first();
    if ((await field.evaluate((element) => element.tagName)) === "SELECT") await field.selectOption({ label: value });
    else await field.fill(value);
  }
};

export const begin = async (page, link, name) => {
  await page.goto(link);
  await page.getByLabel("Name of the job").fill(name);
  await page.getByRole("button", { name: "Begin" }).click();
  await page.getByRole("heading", { name: "Where is the house" }).waitFor();
};

export const onThePhone = async (page, link, look) => {
  for (let asked = 0; ; asked += 1) {
    assert.ok(asked < 40, "the walk has an end");
    if (page.url().endsWith("/end")) break;
    const section = page.locator(".step.now");
    const question = await section.getByRole("heading").innerText();
    await look(question);
    const answer = answerOf(question);
    if (typeof answer === "string") await section.getByRole("button", { name: answer }).click();
    else {
      await fill(section, answer);
      await page.getByRole("button", { name: "Next ›" }).click();
    }
  }
  await page.getByRole("heading", { name: "The walk is done" }).waitFor();
  await page.getByText("Plans can be searched now").waitFor();
};

/** All questions of a place at once. */
export const atTheDesk = async (page, job, look) => {
  for (let stop = 0; !page.url().endsWith("/end"); stop += 1) {
    assert.ok(stop < 12, "the walk has an end");
    const place = await page.getByRole("heading", { level: 1 }).innerText();
    for (const section of await page.locator(".step").all()) {
      const answer = answerOf(await section.getByRole("heading").innerText());
      if (typeof answer !== "string") await fill(section, answer);
    }
    await look(place);
    const before = page.url();
    await page.locator("button.wide").click();
    await page.waitForURL((url) => url.href !== before);
    // What the answers of a place bring up is asked when its place is looked at again.
  }
  // A hood on a drawn wall is asked otherwise than one without; what is left open is asked again.
  for (let asked = 0; asked < 12; asked += 1) {
    await page.goto(`${job}/survey/walk`);
    if (page.url().endsWith("/end")) break;
    const section = page.locator(".step.now");
    const answer = answerOf(await section.getByRole("heading").innerText());
    if (typeof answer === "string") await section.getByRole("button", { name: answer }).click();
    else {
      await fill(section, answer);
      await page.locator("button.wide").click();
    }
    await page.waitForLoadState();
  }
  await page.getByText("Plans can be searched now").waitFor();
};
