// It needs target/dist/groundwall.html (`node crates/web/build.mjs`), the native program (`cargo build --release`) and Chromium.

import assert from "node:assert/strict";
import { createRequire } from "node:module";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { after, before, test } from "node:test";
import { DEMO_DAY, LONGEST, demo, fleet, judge, judgeDemo, launched, opened, root, said } from "./browser.mjs";
import { difference } from "./difference.mjs";

const folder = mkdtempSync(join(tmpdir(), "groundwall-web-"));
const pictures = process.env.GROUNDWALL_WEB_PICTURES;

let browser;
before(async () => (browser = await launched()));
after(async () => {
  await browser.close();
  rmSync(folder, { recursive: true });
});

/** A file of the tests' own. */
function made(name, text) {
  const file = join(folder, name);
  writeFileSync(file, text);
  return file;
}

/** What is saved when this button is clicked. */
async function saved(page, label) {
  const [download] = await Promise.all([page.waitForEvent("download", { timeout: LONGEST }), page.getByRole("button", { name: label }).click()]);
  return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
}

const choose = async (page, ...files) => {
  const before = await page.locator("#files li").count();
  await page.setInputFiles("#choose", files);
  await page.waitForFunction((count) => document.querySelectorAll("#files li, #notes li").length >= count, before + files.length);
};
const roles = (page) => page.$$eval("#files li", (rows) => rows.map((row) => [row.querySelector(".file").textContent, row.querySelector("select").value]));
const names = (page) => page.$$eval("#series tbody tr:not([hidden]) .name", (cells) => cells.map((cell) => cell.textContent));

/** Judges these files here and by the native program, and compares the results. */
async function comparedWithNative(cwd, [history, register, policy]) {
  const { page, asked, errors } = await opened(browser);
  const files = [history, register, ...(policy ? [policy] : [])];
  await choose(page, ...files.map((name) => join(cwd, name)));
  assert.deepEqual(await roles(page), files.map((name, i) => [name, ["history", "register", "policy"][i]]));
  await page.fill("#as-of", DEMO_DAY);
  await judge(page);
  const here = JSON.parse((await saved(page, "Save: JSON")).bytes);
  const args = ["--register", register, ...(policy ? ["--policy", policy] : []), "--as-of", DEMO_DAY, "--format", "json"];
  const there = JSON.parse(said(cwd, "assess", history, "--no-config", ...args));
  assert.equal(here.program.target, "wasm32");
  const { differing, largest } = difference({ ...there, program: here.program }, here);
  assert.deepEqual(differing, [], "every action, date and text is the same");
  assert.equal(largest, 0, "every number is the same to its last bit");
  assert.equal(await page.locator("#series tbody tr").count(), there.series.length);
  assert.deepEqual([asked, errors], [[], []], "nothing is asked of a network");
}

test("the demo plant is judged as by the native program, without a network", () =>
  comparedWithNative(join(root, "data-demo"), ["history.csv", "register.csv", "policy.toml"]));

test("so is a fleet of 300 windings", () => comparedWithNative(folder, fleet(folder, 300).map((file) => basename(file))));

test("the security policy lets no request out, whoever asks", async () => {
  const { page } = await opened(browser);
  const reasons = [];
  page.on("requestfailed", (request) => reasons.push(request.failure().errorText));
  page.on("response", (response) => /^https?:/.test(response.url()) && reasons.push(response.url()));
  const refused = await page.evaluate(async () => {
    const image = new Image();
    const failed = new Promise((resolve) => (image.onerror = () => resolve("refused")));
    image.src = "https://example.invalid/pixel.png";
    return [await fetch("https://example.invalid/").catch(() => "refused"), await failed];
  });
  assert.deepEqual(refused, ["refused", "refused"]);
  assert.deepEqual(reasons, ["csp"]);
  assert.match(await page.textContent("header"), /Nothing leaves this computer/);
});

test("files are dropped, told apart by what is in them, and never replaced without a word", async () => {
  const { page } = await opened(browser);
  const text = { history: "winding,tested_on,r_60s\nP-1,2026-01-05,500\n", register: "winding,rated_volts,construction,year_made\nP-1,400,random-wound,1999\n" };
  const drop = (files) =>
    page.evaluate((files) => {
      const dataTransfer = new DataTransfer();
      for (const [name, text] of files) dataTransfer.items.add(new File([text], name));
      document.querySelector("#drop").dispatchEvent(new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true }));
    }, files);
  await drop([["-.csv", text.history], ["tests of motors.txt", text.register]]);
  await page.locator("#files li").nth(1).waitFor();
  assert.deepEqual(await roles(page), [["-.csv", "history"], ["tests of motors.txt", "register"]]);
  await drop([["-.csv", "winding,tested_on,r_60s\nQ-2,2026-02-05,700\n"], ["again.csv", text.history]]);
  await page.locator("#notes li").nth(1).waitFor();
  assert.deepEqual(await page.locator("#notes li").allTextContents(), [
    "- (2).csv: another file named -.csv is in the list, so this one got a number. Remove the one that is out of date.",
    "again.csv: a file with this content is in the list already, so it was not added again.",
  ]);
  await judge(page);
  assert.deepEqual((await names(page)).sort(), ["P-1", "Q-2"]);
  await page.fill("#as-of", "2026-06-01");
  assert.ok(await page.isVisible("#stale"), "what is shown was judged before the change, and the page says so");
  await judge(page);
  assert.ok(await page.isHidden("#stale"));
});

test("files of one's own replace the invented plant and its day", async () => {
  const { page } = await opened(browser);
  await judgeDemo(page);
  assert.match(await page.textContent("#remarks"), /^This plant is invented/);
  await page.setInputFiles("#choose", made("own.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,500\n"));
  await page.waitForFunction(() => document.querySelectorAll("#files li").length === 1);
  const today = await page.evaluate(() => new Date().toLocaleDateString("sv"));
  assert.equal(await page.inputValue("#as-of"), today);
  assert.deepEqual(await roles(page), [["own.csv", "history"]]);
});

test("a page left open judges as of the day on which it is asked, unless a day was chosen", async () => {
  const { page } = await opened(browser);
  await choose(page, made("day.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,500\n"));
  const judgedOn = async (day) => {
    await page.clock.setFixedTime(new Date(`${day}T10:00:00`));
    await judge(page);
    return (await page.textContent("#view h2")).slice(-10);
  };
  assert.equal(await judgedOn("2027-02-03"), "2027-02-03");
  assert.equal(await judgedOn("2027-02-04"), "2027-02-04");
  await page.fill("#as-of", "2026-06-01");
  assert.equal(await judgedOn("2027-02-05"), "2026-06-01");
});

test("workbooks are read, also of older programs", async () => {
  for (const name of ["office.xlsx", "office.xls", "office.ods"]) {
    const { page } = await opened(browser);
    await choose(page, join(root, "tests/cli/data", name));
    await page.fill("#as-of", DEMO_DAY);
    await judge(page);
    const there = said(join(root, "tests/cli/data"), "assess", name, "--no-config", "--as-of", DEMO_DAY, "--format", "html").toString();
    assert.deepEqual(await page.$$eval("#series .action", (cells) => cells.map((cell) => cell.textContent)), there.match(/(?<=class="action action-\w+">)\w+/g), name);
  }
});

test("the list is filtered and a series is opened with its charts and its steps, by keyboard too", async () => {
  const { page, errors } = await opened(browser);
  await judgeDemo(page);
  assert.equal(await page.evaluate(() => document.activeElement.textContent), `Winding insulation as of ${DEMO_DAY}`);
  await page.selectOption("#action", "hold");
  assert.deepEqual(await names(page), ["K-431 stator"]);
  await page.selectOption("#action", "");
  await page.fill("#words", "r-203");
  assert.deepEqual((await names(page)).map((name) => name.slice(0, 12)), Array(3).fill("R-203 stator"));
  await page.locator("#series tr:not([hidden]) .name button").first().focus();
  await page.keyboard.press("Enter");
  await page.locator(".order figure.on-screen svg").first().waitFor();
  assert.match(await page.evaluate(() => document.activeElement.textContent), /^R-203 stator/);
  const widths = await page.$$eval(".order figure.on-screen svg", (charts) => charts.map((svg) => svg.getBoundingClientRect().width));
  assert.ok(widths.some((width) => width > 600), `charts are ${widths} pixels wide`);
  await page.click("#view summary");
  await page.locator("#view pre", { hasText: "minimum" }).waitFor();
  assert.equal((await saved(page, "Save: work order (PDF)")).bytes.toString("latin1", 0, 5), "%PDF-");
  assert.match((await saved(page, "Save: trend chart (SVG)")).bytes.toString(), /<svg /);
  await page.getByRole("button", { name: "Back to the list" }).click();
  assert.equal(await page.locator("#series tbody tr").count(), 50);
  assert.deepEqual(errors, []);
});

test("every form of the result is saved, and is what the native program writes", async () => {
  const { page } = await opened(browser);
  await judgeDemo(page);
  const native = (command, ...more) =>
    said(join(root, "data-demo"), command, "history.csv", "--no-config", "--register", "register.csv", "--policy", "policy.toml", "--as-of", DEMO_DAY, ...more);
  // Attributes hold pictures and keys to sort by, whose last digits may differ.
  const words = (html) => html.toString().replaceAll(/<[^>]*>/g, "");
  native("report", "--single", join(folder, "report.html"));
  assert.equal(words((await saved(page, "Save: report (one HTML file)")).bytes), words(readFileSync(join(folder, "report.html"))));
  assert.equal((await saved(page, "Save: work orders (PDF)")).bytes.toString("latin1", 0, 5), "%PDF-");
  assert.equal((await saved(page, "Save: workbook (xlsx)")).bytes.toString("latin1", 0, 2), "PK");
  const lines = (csv) => csv.toString().trim().split("\n").map((line) => line.split(",").slice(0, 4));
  assert.deepEqual(lines((await saved(page, "Save: CSV")).bytes), lines(native("assess", "--format", "csv")));
  await page.fill("#until", "2027-01-31");
  await page.locator(".round").waitFor();
  assert.match(await page.textContent("#view h2"), /until 2027-01-31/);
  const sheet = await saved(page, "Save: sheet to fill in (csv)");
  assert.equal(sheet.bytes.toString(), native("round", "--until", "2027-01-31", "--format", "csv").toString());
});

test("rejected rows are counted, given a reason and saved", async () => {
  const { page } = await opened(browser);
  await choose(page, demo("history-dirty.csv"));
  await page.fill("#as-of", DEMO_DAY);
  await judge(page);
  assert.match(await page.textContent("#remarks"), /history-dirty\.csv: 67 rows: 45 accepted, 3 repeated, 19 rejected/);
  await page.click("#to-rows");
  await page.locator("#view", { hasText: "history-dirty.csv:12: tested_on is 2025-02-30; this day is not in the calendar" }).waitFor();
  const { name, bytes } = await saved(page, "Save: rejected rows (CSV)");
  assert.equal(name, "rejected.csv");
  said(join(root, "data-demo"), "check", "history-dirty.csv", "--no-config", "--as-of", DEMO_DAY, "--rejects", join(folder, "native.csv"));
  assert.equal(bytes.toString(), readFileSync(join(folder, "native.csv"), "utf8"));
});

test("rejected rows of histories with different headers are saved as several files", async () => {
  const { page } = await opened(browser);
  await choose(page, made("one.csv", "winding,tested_on,r_60s\nP-1,2026-01-05,500\nP-1,2026-02-05,wet\n"));
  await choose(page, made("two [2].csv", "winding,tested_on,r_60s,note\nQ-2,2026-01-05,700,\nQ-2,2026-02-05,damp,x\n"));
  await page.fill("#as-of", DEMO_DAY);
  await judge(page);
  await page.click("#to-rows");
  await page.locator("#view > pre").waitFor();
  const downloads = [];
  page.on("download", (download) => downloads.push(download));
  await page.getByRole("button", { name: "Save: rejected rows (CSV)" }).click();
  while (downloads.length < 2) await page.waitForEvent("download", { timeout: LONGEST });
  const texts = await Promise.all(downloads.map(async (download) => [download.suggestedFilename(), readFileSync(await download.path(), "utf8")]));
  assert.deepEqual(texts.map(([name]) => name), ["rejected.csv", "rejected-2.csv"]);
  assert.match(texts[0][1], /^winding,tested_on,r_60s,.*\nP-1,2026-02-05,wet,/);
  assert.match(texts[1][1], /^winding,tested_on,r_60s,note,.*\nQ-2,2026-02-05,damp,x,/);
});

test("a file that cannot be read is refused with the sentences of the program", async () => {
  const { page } = await opened(browser);
  await choose(page, made("broken.csv", "Motor,Remark\nP-1,fine\n"));
  await judge(page);
  assert.match(await page.textContent("#state"), /^broken\.csv:1: the columns tested_on, r_60s are missing; the header has Motor, Remark\nhint: /);
  assert.ok(await page.isHidden("#result"));
  await page.setInputFiles("#choose", { name: "torn.xlsx", mimeType: "application/octet-stream", buffer: Buffer.from("PK\x03\x04torn") });
  await page.locator("#files li").nth(1).waitFor();
  await page.getByRole("button", { name: "Remove broken.csv" }).click();
  await judge(page);
  assert.match(await page.textContent("#state"), /^torn\.xlsx: .+\n?/);
});

test("options that a message names are understood", async () => {
  const { page } = await opened(browser);
  await choose(page, made("days.csv", "winding;tested_on;r_60s\nP-1;03/04/2026;1,5\n"));
  await page.fill("#others", "--date-format %d/%m/%Y --delimiter ';'");
  await page.keyboard.press("Enter");
  await page.locator("#series tbody tr").waitFor();
  assert.match(await page.textContent("#series tbody"), /1\.5 MΩ/);
  await page.fill("#others", "--delimeter ;");
  await judge(page);
  assert.match(await page.textContent("#state"), /unexpected argument '--delimeter'/);
});

test("a trap is reported and the program starts again", async () => {
  const { page } = await opened(browser);
  await page.evaluate(() => {
    // (module (memory (export "memory") 1) (func (export "_start") unreachable))
    const code = [0, 97, 115, 109, 1, 0, 0, 0, 1, 4, 1, 96, 0, 0, 3, 2, 1, 0, 5, 3, 1, 0, 1, 7, 19, 2, 6, 109, 101, 109, 111, 114, 121, 2, 0, 6, 95, 115, 116, 97, 114, 116, 0, 0, 10, 5, 1, 3, 0, 0, 11];
    const send = Worker.prototype.postMessage;
    // The judgement meets the trap, and nothing else that the page runs.
    Worker.prototype.postMessage = function (message) {
      const met = message.args.includes("assess");
      if (met) Worker.prototype.postMessage = send;
      send.call(this, met ? { ...message, module: new WebAssembly.Module(new Uint8Array(code)) } : message);
    };
  });
  await page.setInputFiles("#choose", made("one.toml", ""));
  await page.getByRole("button", { name: "Remove one.toml" }).waitFor(); // Its row comes with the last word on whether there is something to judge.
  await page.evaluate(() => (document.querySelector("#judge").disabled = false));
  await judge(page);
  assert.match(await page.textContent("#state"), /^The program met an internal error and was stopped; there is no result, and the page can be used on\. It said: \(unreachable\)/);
  await page.getByRole("button", { name: "Remove one.toml" }).click();
  await choose(page, demo("history.csv"));
  await judge(page);
  assert.ok((await page.locator("#series tbody tr").count()) > 10);
});

test("a long run tells how far it is and can be stopped", async () => {
  const { page } = await opened(browser);
  const [history] = fleet(folder, 2500);
  await choose(page, history);
  await page.fill("#as-of", DEMO_DAY);
  const progress = await page.evaluate(
    () =>
      new Promise((resolve) => {
        const state = document.querySelector("#state");
        const look = (_, observer) => {
          if (!/judging|Done/.test(state.textContent)) return;
          observer.disconnect();
          document.querySelector("#stop").click();
          resolve(state.textContent);
        };
        new MutationObserver(look).observe(state, { childList: true });
        document.querySelector("#judge").click();
      }),
  );
  assert.match(progress, /^Working, \d+ s: judging, pass \d: \d+ of \d+\.$/);
  await page.locator("#state", { hasText: "Stopped. There is no result." }).waitFor();
  await judge(page);
  await page.locator("#state", { hasText: /^Done in/ }).waitFor();
});

test("the calculators answer as the program does", async () => {
  const { page } = await opened(browser);
  const cases = [
    ["spot", { r60: "0.4", at: "25", "rated-volts": "400" }, ["spot", "--r60=0.4", "--at=25", "--rated-volts=400"]],
    ["correct", { reading: "200", at: "23", insulation: "thermosetting" }, ["correct", "200", "--at", "23", "--insulation", "thermosetting"]],
    ["ratios", { "30s": "310", "60s": "420", "10min": "980" }, ["ratios", "30s=310", "60s=420", "10min=980"]],
  ];
  for (const [id, values, args] of cases) {
    for (const [name, value] of Object.entries(values)) {
      const field = page.locator(`#${id} [name="${name}"]`);
      await (name === "insulation" ? field.selectOption(value) : field.fill(value));
    }
    await page.click(`#${id} button`);
    await page.locator(`#${id} output:not(:empty)`).waitFor();
    assert.ok((await page.textContent(`#${id} output`)).startsWith(said(folder, ...args).toString()), id);
  }
  await page.fill("#spot [name=r60]", "4");
  assert.equal(await page.textContent("#spot output"), "", "an answer to another reading does not stay");
  await page.fill("#spot [name=r60]", "a lot");
  await page.click("#spot button");
  await page.locator("#spot output", { hasText: "invalid value 'a lot' for '--r60" }).waitFor();
});

test("the cautions of the program are on the page", async () => {
  const { page } = await opened(browser);
  const help = said(folder, "report", "--help").toString().split("Safety:")[1].replaceAll(/\s+/g, " ").trim();
  assert.equal((await page.locator("aside.cautions").first().textContent()).trim(), help);
  await judgeDemo(page);
  assert.match(await page.locator("#view aside.cautions").textContent(), /isolate, lock out, prove dead, .* discharge at least four times the charging time/);
});

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
for (const [width, height] of [[1280, 900], [390, 844]]) {
  for (const colorScheme of ["light", "dark"]) {
    test(`at ${width} pixels, ${colorScheme}, axe finds nothing and nothing is wider than the screen`, async () => {
      const { page } = await opened(browser, { width, height, colorScheme, bypassCSP: true });
      const views = {
        begin: () => {},
        list: () => judgeDemo(page),
        order: async () => {
          await page.locator("#series .name button").first().click();
          await page.locator(".order").waitFor();
        },
        rows: async () => {
          await page.click("#to-rows");
          await page.locator("#view > pre").waitFor();
        },
        round: async () => {
          await page.click("#to-round");
          await page.locator(".round").waitFor();
        },
      };
      const found = [];
      for (const [view, open] of Object.entries(views)) {
        await open();
        assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), view);
        if (pictures) await page.screenshot({ path: join(pictures, `${view}-${width}-${colorScheme}.png`), fullPage: true });
        await page.evaluate(axe);
        const { violations } = await page.evaluate(() => globalThis.axe.run());
        found.push(...violations.map(({ id, nodes }) => [view, id, nodes.map((node) => node.html.slice(0, 200))]));
      }
      assert.deepEqual(found, []);
    });
  }
}

test("what is seen is what is printed", async () => {
  const { page } = await opened(browser);
  await judgeDemo(page);
  await page.locator("#series .name button").first().click();
  await page.locator(".order").waitFor();
  await page.emulateMedia({ media: "print" });
  const seen = await page.$$eval("body > *, main > *", (all) => all.filter((each) => each.checkVisibility() && each.offsetHeight > 0).map((each) => each.id || each.tagName));
  assert.deepEqual(seen, ["MAIN", "result", "FOOTER"]);
  assert.deepEqual(await page.locator("button:visible").allTextContents(), []);
  const paper = await page.pdf({ path: join(pictures ?? folder, "order.pdf"), format: "A4" });
  assert.equal(paper.toString("latin1").match(/\/Type \/Page\b/g).length, 2, "a work order is two pages");
});
