// The page in Firefox, another engine for WebAssembly, workers and style: the demo plant judged as in Chromium. It needs target/dist/groundwall.html.

import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { test } from "node:test";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";
import { LONGEST, html } from "./browser.mjs";

const executablePath = [process.env.FIREFOX, "/usr/bin/firefox-esr", "/usr/bin/firefox"].find((path) => path && existsSync(path));

/** Waits until something holds; the page's security policy forbids the driver to do so in the page. */
async function until(what, holds) {
  const begun = Date.now();
  while (!(await holds())) {
    assert.ok(Date.now() - begun < LONGEST, `${what} takes too long`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
}

test("Firefox opens the page from its file and judges the demo plant", { skip: !executablePath && "there is no Firefox" }, async () => {
  const args = ["--width=1280", "--height=900"];
  const browser = await puppeteer.launch({ browser: "firefox", executablePath, headless: true, defaultViewport: null, args });
  try {
    const page = await browser.newPage();
    const errors = [];
    page.on("pageerror", (error) => errors.push(String(error)));
    page.on("console", (message) => message.type() === "error" && errors.push(message.text()));
    await page.goto(pathToFileURL(html).href);
    await until("starting", async () => (await page.$eval("#state", (state) => state.textContent)) === "Ready.");
    await page.click("#demo");
    await until("judging", async () => (await page.$("#series tbody tr")) !== null);
    const rows = await page.$$eval("#series tbody tr", (all) => all.map((row) => row.textContent.replace(/\s+/g, " ")));
    assert.equal(rows.length, 50);
    assert.match(rows[0], /^hold ?K-431 stator/);
    assert.deepEqual(errors, []);
  } finally {
    await browser.close();
  }
});
