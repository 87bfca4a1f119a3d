// Elements of the page. Text is always text, never markup.

/**
 * The element of this id, which the page has.
 * @param {string} id
 * @returns {any}
 */
export const byId = (id) => document.getElementById(id);

/**
 * An element with properties and children.
 * @param {string} name
 * @param {Record<string, unknown>} [properties]
 * @param {...(Node | string)} children
 * @returns {any}
 */
export function element(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

/**
 * A button.
 * @param {string} text
 * @param {() => unknown} onclick
 * @param {Record<string, unknown>} [properties]
 */
export const button = (text, onclick, properties = {}) => element("button", { type: "button", textContent: text, onclick, ...properties });

/**
 * Offers bytes as a download.
 * @param {string} name
 * @param {Uint8Array<ArrayBuffer>} bytes
 */
export function save(name, bytes) {
  const link = element("a", { href: URL.createObjectURL(new Blob([bytes])), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
