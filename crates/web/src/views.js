// What is shown of a result. The list, a work order and the round are the program's own pages.

import startList from "report/plant.js";
import { button, byId, element } from "./dom.js";

/** @typedef {[string, string, string]} Key winding, connection and scope */

/**
 * A page that the program made. None of it is run: the security policy allows no script but this page's own. Its styles are left out: the
 * policy allows those of this page, which has the same.
 * @param {Uint8Array} html
 */
function parsed(html) {
  const text = new TextDecoder().decode(html).replaceAll(/<style>[^]*?<\/style>/g, "");
  return new DOMParser().parseFromString(text, "text/html");
}

/**
 * What such a page shows, under a heading of the second level.
 * @param {Document} page
 */
function content(page) {
  const head = page.querySelector(".top");
  const title = element("h2", { className: "title", textContent: head?.querySelector("h1")?.textContent });
  return [title, ...(head?.querySelectorAll("p") ?? []), ...(page.querySelector("main")?.childNodes ?? [])];
}

/**
 * Shows these elements and puts the focus on their first heading, once `begin` has made them work: a focus lays the page out.
 * @param {(Node | string)[]} parts
 * @param {() => void} [begin]
 */
function show(parts, begin = () => {}) {
  byId("view").replaceChildren(...parts);
  begin();
  const title = byId("view").querySelector("h2");
  title.tabIndex = -1;
  title.focus();
}

/**
 * Shows the list; `open` is called with the series whose name is chosen.
 * @param {Uint8Array} html
 * @param {(key: Key) => void} open
 */
export function showList(html, open) {
  const page = parsed(html);
  for (const row of /** @type {NodeListOf<HTMLElement>} */ (page.querySelectorAll("#series tbody tr"))) {
    const name = /** @type {HTMLElement} */ (row.querySelector(".name"));
    name.replaceChildren(button(name.textContent, () => open(JSON.parse(row.dataset.series ?? "[]")), { className: "link" }));
  }
  show(content(page), startList);
}

/**
 * Shows the next round.
 * @param {Uint8Array} html
 * @param {HTMLElement} above
 */
export const showRound = (html, above) => show([above, ...content(parsed(html))]);

/**
 * Shows the work order of a series.
 * @param {Uint8Array} html
 * @param {HTMLElement} above
 * @param {HTMLElement} below
 */
export function showOrder(html, above, below) {
  const order = parsed(html).querySelector(".order");
  show([above, order ?? "", below]);
}

/**
 * Shows text of the program.
 * @param {string} title
 * @param {string} text
 * @param {HTMLElement} below
 */
export const showText = (title, text, below) =>
  show([element("h2", { className: "title", textContent: title }), element("pre", { tabIndex: 0, textContent: text }), below]);
