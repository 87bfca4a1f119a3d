// Size, times and memory of the page in headless Chromium, and how far its results are from those of the native program.
//
// `node crates/web/bench.mjs [ROUNDS]` needs target/dist/groundwall.html, the native program and the example make-fleet.

import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, dirname, join } from "node:path";
import { DEMO_DAY, LONGEST, demo, fleet, html, judge, launched, opened, said } from "./tests/browser.mjs";
import { difference } from "./tests/difference.mjs";

const rounds = Number(process.argv[2] ?? 5);
const folder = mkdtempSync(join(tmpdir(), "groundwall-bench-"));

/** A file of a process in /proc; empty if the process has ended. */
function read(pid, name) {
  try {
    return readFileSync(`/proc/${pid}/${name}`, "utf8");
  } catch {
    return "";
  }
}

/** The numbers that the system keeps of a process, from its parent on. */
const numbers = (pid) => read(pid, "stat").split(") ").at(-1).split(" ").slice(1).map(Number);

const isOurs = (pid) => pid === process.pid || (pid > 1 && isOurs(numbers(pid)[0]));

/** The processes that show our pages. */
const pages = () => readdirSync("/proc").map(Number).filter((pid) => read(pid, "cmdline").includes("--type=renderer") && isOurs(pid));

/** The most memory that any of them has had, MB. */
const peak = () => Math.max(...pages().map((pid) => Number(/VmHWM:\s+(\d+)/.exec(read(pid, "status"))?.[1] ?? 0) / 1000));

/** Processor time that all of them have taken, s; the system counts hundredths. */
const processor = () => pages().reduce((sum, pid) => sum + (numbers(pid)[10] + numbers(pid)[11]) / 100, 0);

/**
 * Judges these files in a fresh browser: seconds to ready, seconds to the list by the clock and of processor time, memory, and the
 * result as JSON.
 */
async function measured(files) {
  const browser = await launched();
  try {
    // A browser that has just started would count as a slow page.
    await browser.newPage();
    const blank = peak();
    const { page } = await opened(browser);
    const ready = await page.evaluate(() => performance.now() / 1000);
    const empty = peak();
    await page.setInputFiles("#choose", files);
    await page.locator("#files li").nth(files.length - 1).waitFor();
    await page.fill("#as-of", DEMO_DAY);
    const before = processor();
    const list = await page.evaluate(async () => {
      const [began, rows] = [performance.now(), () => document.querySelector("#series tbody tr")];
      document.querySelector("#judge").click();
      while (!rows()) await new Promise((resolve) => setTimeout(resolve, 5));
      return (performance.now() - began) / 1000;
    });
    const [full, worked] = [peak(), processor() - before];
    await judge(page);
    const again = Number(/[\d.]+/.exec(await page.textContent("#state"))[0]);
    const [download] = await Promise.all([page.waitForEvent("download", { timeout: LONGEST }), page.getByRole("button", { name: "Save: JSON" }).click()]);
    return { ready, list, worked, again, blank, empty, full, result: JSON.parse(readFileSync(await download.path(), "utf8")) };
  } finally {
    await browser.close();
  }
}

const middle = (numbers) => [...numbers].sort((a, b) => a - b)[Math.floor(numbers.length / 2)];
const spread = (runs, of, digits) => {
  const numbers = runs.map((run) => run[of]);
  const [low, mid, high] = [Math.min(...numbers), middle(numbers), Math.max(...numbers)].map((number) => number.toFixed(digits));
  return `${mid} (${low} to ${high})`;
};

console.log(`size: ${(statSync(html).size / 1e6).toFixed(2)} MB; ${rounds} rounds, median (least to most)`);
const fleets = {
  "demo plant": [demo("history.csv"), demo("register.csv"), demo("policy.toml")],
  "100,000 rows of 2,500 windings": fleet(folder, 2500),
};
for (const [name, files] of Object.entries(fleets)) {
  const [history, register, policy] = files.map((file) => basename(file));
  const args = ["assess", history, "--no-config", "--register", register, ...(policy ? ["--policy", policy] : []), "--as-of", DEMO_DAY];
  const began = performance.now();
  const there = JSON.parse(said(dirname(files[0]), ...args, "--threads", "1", "--format", "json"));
  const native = (performance.now() - began) / 1000;
  const runs = [];
  for (let round = 0; round < rounds; round++) runs.push(await measured(files));
  const { differing, largest, at } = difference({ ...there, program: runs[0].result.program }, runs[0].result);
  console.log(`${name}: ready ${spread(runs, "ready", 2)} s, list ${spread(runs, "list", 2)} s (processor time ${spread(runs, "worked", 2)} s), the second time ${spread(runs, "again", 1)} s`);
  console.log(`  most memory of the page until the list ${spread(runs, "full", 0)} MB; ${spread(runs, "empty", 0)} MB before a file is chosen, ${spread(runs, "blank", 0)} MB of an empty page`);
  console.log(`  native program, one thread, process and JSON: ${native.toFixed(2)} s`);
  console.log(`  ${there.series.length} series: ${differing.length} texts or dates differ; largest relative difference of two numbers ${largest.toExponential(1)} (${at})`);
  for (const [path, one, other] of differing.slice(0, 10)) console.log(`    ${path}: native ${one}, page ${other}`);
}
rmSync(folder, { recursive: true });
