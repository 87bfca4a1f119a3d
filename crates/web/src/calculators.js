// The calculators for single readings: forms that become command lines.

import { byId } from "./dom.js";

/** @typedef {Record<string, string>} Values */

/**
 * What was filled in.
 * @param {HTMLFormElement} form
 * @returns {Values}
 */
function filled(form) {
  const all = [...new FormData(form)].map(([name, value]) => [name, String(value).trim()]);
  return Object.fromEntries(all.filter(([, value]) => value));
}

/** @param {Values} values */
const options = (values) => Object.entries(values).map(([name, value]) => `--${name}=${value}`);

/**
 * The command line of each form.
 * @type {Record<string, (values: Values) => string[]>}
 */
const COMMANDS = {
  spot: (values) => ["spot", ...options(values)],
  correct: ({ reading, ...values }) => ["correct", ...options(values), "--", reading],
  ratios: (values) => ["ratios", ...Object.entries(values).map(([time, value]) => `${time}=${value}`)],
};

/**
 * Makes the forms work.
 * @param {(args: string[]) => Promise<string>} run runs the program and gives what it says
 */
export function startCalculators(run) {
  for (const [id, command] of Object.entries(COMMANDS)) {
    const form = byId(id);
    const answer = form.querySelector("output");
    form.onsubmit = async (/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      answer.textContent = await run(command(filled(form)));
    };
    // An answer to other values than those in the form would be taken for theirs.
    form.oninput = () => (answer.textContent = "");
  }
}
