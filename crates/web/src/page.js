// The page: files in; the list, single series, the next round and downloads out.

import { startCalculators } from "./calculators.js";
import { button, byId, element, save } from "./dom.js";
import { Files } from "./files.js";
import { Broken, Runner, Stopped } from "./runner.js";
import { showList, showOrder, showRound, showText } from "./views.js";

/** @typedef {import("./program.js").Ended} Ended */
/** @typedef {import("./views.js").Key} Key */
/** @typedef {{ options: string[], histories: string[], bytes: import("./program.js").NamedBytes }} Job what is judged, and how */

const runner = new Runner();
const files = new Files(changed, isRegister);
const decoder = new TextDecoder();
/** The day for which the invented plant was made. */
const DEMO_DAY = "2026-11-25";
/** Registers are small; a larger file is a history. */
const LARGEST_REGISTER = 2 << 20;

/** @type {Job | undefined} what the shown result was made from */
let judged;
/** Whether the files are the invented ones. */
let invented = false;
/** Whether somebody chose the day; otherwise it is today, also on a page that was left open overnight. */
let dayChosen = false;

/** Today, as the clock of this computer has it. */
function today() {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
}

/**
 * Says how things are.
 * @param {string} text
 * @param {boolean} [failed]
 */
function say(text, failed = false) {
  byId("state").textContent = text;
  byId("state").classList.toggle("failed", failed);
}

/** Something that a result depends on has changed. */
function changed() {
  byId("judge").disabled = !files.any;
  byId("stale").hidden = !judged;
}

/**
 * Whether the program takes a file for a register.
 * @param {string} name
 * @param {Uint8Array<ArrayBuffer>} bytes
 */
async function isRegister(name, bytes) {
  if (bytes.length > LARGEST_REGISTER) return false;
  const asked = await runner.run(["--color=never", "check", "--no-config", `./${name}`], { [name]: bytes }).catch(() => undefined);
  return asked?.messages.includes("this looks like a register") ?? false;
}

/**
 * The words of a line of options; quotes hold blanks together.
 * @param {string} line
 */
const words = (line) => [...line.matchAll(/(?:[^\s"']|"[^"]*"|'[^']*')+/g)].map(([word]) => word.replaceAll(/["']/g, ""));

/**
 * What is to be judged, as it stands in the page now.
 * @returns {Job}
 */
function job() {
  if (!dayChosen) byId("as-of").value = today();
  const value = (/** @type {string} */ id) => byId(id).value.trim();
  const pairs = { "--as-of": value("as-of"), "--date-format": value("dates"), "--full-scale": value("full-scale") };
  const given = Object.entries(pairs).filter(([, text]) => text).map(([name, text]) => `${name}=${text}`);
  const decimal = value("decimal") ? [value("decimal")] : [];
  const options = [...given, ...decimal, ...words(value("others")), ...files.options()];
  return { options, histories: files.histories(), bytes: files.bytes() };
}

/**
 * Runs a command on what is judged and says how it went; nothing where it broke down.
 * @param {Job} job
 * @param {string} command
 * @param {string[]} [more]
 * @returns {Promise<Ended | undefined>}
 */
async function ask(job, command, more = []) {
  const began = performance.now();
  let progress = "";
  const seconds = () => (performance.now() - began) / 1000;
  const clock = setInterval(() => say(`Working, ${seconds().toFixed(0)} s${progress && `: ${progress}`}.`), 500);
  byId("stop").hidden = false;
  try {
    const ended = await runner.run(["--color=never", command, ...job.options, ...more, ...job.histories], job.bytes, (text) => (progress = text));
    if (ended.status === 0) say(`Done in ${seconds().toFixed(1)} s.`);
    else say(ended.messages, true);
    return ended;
  } catch (error) {
    say(whyBroken(error), true);
  } finally {
    clearInterval(clock);
    byId("stop").hidden = true;
  }
}

/** @param {unknown} error */
function whyBroken(error) {
  if (error instanceof Stopped) return "Stopped. There is no result.";
  if (!(error instanceof Broken)) throw error;
  return (
    `The program met an internal error and was stopped; there is no result, and the page can be used on. It said: ${error.message}. ` +
    "If the files are very large, use the program for the command line. Otherwise report this with the files that led to it."
  );
}

/** Judges what is in the page and shows the list. */
async function judge() {
  [byId("result").hidden, byId("stale").hidden] = [true, true];
  judged = undefined;
  const asked = job();
  const ended = await ask(asked, "assess", ["--format=html"]);
  if (!ended?.out.length) return;
  const { out, messages } = ended;
  judged = asked;
  byId("result").hidden = false;
  byId("remarks").textContent = (invented ? "This plant is invented: no machine and no reading of it ever was.\n" : "") + messages;
  list = () => showList(out, order);
  list();
}

/** Shows the list that was judged last. */
let list = () => {};

/**
 * Runs a command on what was judged.
 * @param {string} command
 * @param {string[]} more
 */
const again = (command, more) => (judged ? ask(judged, command, more) : undefined);

const printed = () => button("Print this", () => print());

/**
 * Shows the work order of a series.
 * @param {Key} key
 */
async function order([winding, connection, scope]) {
  const which = [`--winding=${winding}`, `--connection=${connection}`, `--scope=${scope}`];
  const ended = await again("report", [...which, "--single=order.html"]);
  const page = ended?.files["order.html"];
  if (!page) return;
  const steps = element("pre", { tabIndex: 0 });
  const below = element("details", { className: "on-screen" }, element("summary", { textContent: "Every step of this judgement" }), steps);
  below.ontoggle = async () => {
    if (!below.open || steps.textContent) return;
    const explained = await again("explain", which);
    steps.textContent = explained ? decoder.decode(explained.out) : "";
  };
  const above = element("p", { className: "buttons on-screen" }, button("Back to the list", list), printed());
  above.append(...[PDF, CHART].map((wanted) => download({ ...wanted, more: [...which, ...wanted.more] })));
  showOrder(page, above, below);
}

/** Shows the next round. */
async function round() {
  const until = byId("until").value;
  const more = until ? [`--until=${until}`] : [];
  const ended = await again("round", ["--format=html", ...more]);
  if (!ended?.out.length) return;
  const sheets = ["xlsx", "csv"].map((format) => download({ label: `sheet to fill in (${format})`, command: "round", more: [`--format=${format}`, ...more], name: `round.${format}` }));
  showRound(ended.out, element("p", { className: "buttons on-screen" }, printed(), ...sheets));
}

/** Shows how the rows were read, and why some were rejected. */
async function rows() {
  const ended = await again("check", []);
  if (!ended) return;
  const text = decoder.decode(ended.out) + ended.messages;
  showText("How the files were read", text, element("p", { className: "buttons on-screen" }, button("Save: rejected rows (CSV)", rejects)));
}

/** Saves the rejected rows: one file, or several where the histories have different headers. */
async function rejects() {
  const ended = await again("check", ["--rejects=rejected.csv"]);
  const files = ended?.files["rejected.csv"] ? ended.files : ((await again("report", ["--out=report"]))?.files ?? {});
  for (const [name, bytes] of Object.entries(files)) {
    if (/^(report\/)?rejected(-\d+)?\.csv$/.test(name)) save(name.replace("report/", ""), bytes);
  }
}

/** @typedef {{ label: string, command: string, more: string[], name: string }} Download a file that can be saved, and the command that writes it */

/** @type {Download} */
const PDF = { label: "work order (PDF)", command: "report", more: ["--pdf=work-order.pdf"], name: "work-order.pdf" };
/** @type {Download} */
const CHART = { label: "trend chart (SVG)", command: "chart", more: ["--out=trend.svg"], name: "trend.svg" };
/** @type {Download[]} */
const DOWNLOADS = [
  { label: "report (one HTML file)", command: "report", more: ["--single=report.html"], name: "report.html" },
  { label: "work orders (PDF)", command: "report", more: ["--pdf=work-orders.pdf"], name: "work-orders.pdf" },
  { label: "workbook (xlsx)", command: "assess", more: ["--format=xlsx"], name: "assessment.xlsx" },
  { label: "CSV", command: "assess", more: ["--format=csv"], name: "assessment.csv" },
  { label: "JSON", command: "assess", more: ["--format=json"], name: "assessment.json" },
];

/**
 * A button that makes a file and saves it. Where the command writes no file, its output is the file.
 * @param {Download} wanted
 */
function download({ label, command, more, name }) {
  return button(`Save: ${label}`, async () => {
    const ended = await again(command, more);
    const bytes = ended && (ended.files[name] ?? ended.out);
    if (ended?.status === 0 && bytes?.length) save(name, bytes);
  });
}

/**
 * Adds files of one's own; the invented ones go.
 * @param {Iterable<File>} list
 */
async function add(list) {
  if (invented) {
    files.clear();
    byId("as-of").value = today();
    [invented, dayChosen] = [false, false];
  }
  const remarks = await files.add(list);
  byId("notes").replaceChildren(...remarks.map((text) => element("li", { textContent: text })));
}

/** Judges the invented plant. */
async function demo() {
  const { files: made } = await runner.run(["demo", "plant"]);
  files.clear();
  await files.add(["history.csv", "register.csv", "policy.toml"].map((name) => new File([made[`plant/${name}`]], name)));
  [invented, dayChosen] = [true, true];
  byId("as-of").value = DEMO_DAY;
  byId("notes").replaceChildren(element("li", { textContent: `An invented plant, as of ${DEMO_DAY}. Files of your own replace it.` }));
  await judge();
}

byId("as-of").value = today();
byId("as-of").oninput = () => (dayChosen = true);
byId("options").oninput = changed;
byId("options").onsubmit = (/** @type {SubmitEvent} */ event) => {
  event.preventDefault();
  judge();
};
byId("choose").onchange = async (/** @type {any} */ { target }) => {
  await add([...target.files]);
  // The same file can be chosen again after it was removed.
  target.value = "";
};
byId("demo").onclick = demo;
byId("stop").onclick = () => runner.stop();
byId("to-list").onclick = () => list();
byId("to-round").onclick = round;
byId("to-rows").onclick = rows;
byId("until").onchange = round;
byId("downloads").append(...DOWNLOADS.map(download));

// Files may be dropped anywhere; beside the box a browser would leave this page for the file.
ondragover = (event) => {
  event.preventDefault();
  byId("drop").classList.add("over");
};
ondragleave = () => byId("drop").classList.remove("over");
ondrop = async (event) => {
  event.preventDefault();
  byId("drop").classList.remove("over");
  await add([...(event.dataTransfer?.files ?? [])]);
};

startCalculators(async (args) => {
  try {
    const { out, messages } = await runner.run(["--color=never", ...args]);
    return decoder.decode(out) + messages;
  } catch (error) {
    return whyBroken(error);
  }
});

try {
  byId("version").textContent = decoder.decode((await runner.run(["--version"])).out).split("\n")[0];
  byId("demo").disabled = false;
  say("Ready.");
} catch (error) {
  say(`The program cannot start in this browser: ${/** @type {Error} */ (error).message}. Use a newer one.`, true);
}
