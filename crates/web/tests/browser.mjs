// The page as its user opens it: from a file, in headless Chromium, without a network.

import { execFileSync } from "node:child_process";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

export const root = fileURLToPath(new URL("../../..", import.meta.url));
export const html = join(root, "target/dist/groundwall.html");
export const demo = (name) => join(root, "data-demo", name);
export const DEMO_DAY = "2026-11-25";
/** No run of these tests takes so long, however busy the machine is. */
export const LONGEST = 120_000;

const native = join(root, "target/release/groundwall");

/** What the native program writes, started in a folder. */
export const said = (cwd, ...args) => execFileSync(native, args, { cwd, maxBuffer: 1 << 30, stdio: ["ignore", "pipe", "ignore"] });

/** An invented history of so many windings with forty tests each, and its register: two files in a folder. */
export function fleet(folder, windings) {
  const [history, register] = ["fleet.csv", "windings.csv"].map((name) => join(folder, name));
  const make = ["run", "--quiet", "--release", "--locked", "-p", "groundwall", "--example", "make-fleet", "--"];
  execFileSync("cargo", [...make, "--windings", String(windings), "--tests", "40", "--out", history, "--register", register], { cwd: root });
  return [history, register];
}

/** Chromium without anything of its own that would ask a network. */
export function launched() {
  const executablePath = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"].find((path) => path && existsSync(path));
  const args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
  return chromium.launch({ executablePath, args });
}

/** A fresh page that is ready, what it asked for beside itself, and what went wrong. */
export async function opened(browser, { width = 1280, height = 900, ...more } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, acceptDownloads: true, ...more });
  context.setDefaultTimeout(LONGEST);
  const page = await context.newPage();
  const asked = [];
  const errors = [];
  const own = pathToFileURL(html).href;
  page.on("request", (request) => request.url() !== own && !/^(blob|data):/.test(request.url()) && asked.push(request.url()));
  page.on("pageerror", (error) => errors.push(String(error)));
  page.on("console", (message) => message.type() === "error" && errors.push(message.text()));
  await page.goto(own);
  await page.locator("#state", { hasText: /^Ready\.$/ }).waitFor();
  return { page, asked, errors };
}

/** Judges what was chosen, and waits until that has ended in some way. */
export async function judge(page) {
  await page.click("#judge");
  await page.locator("#stop").waitFor({ state: "hidden" });
}

/** Judges the invented plant. */
export async function judgeDemo(page) {
  await page.click("#demo");
  await page.locator("#series tbody tr").first().waitFor();
}
