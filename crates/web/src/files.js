// The files that were chosen, and what each of them is.

import { byId, button, element } from "./dom.js";

/** @typedef {{ name: string, bytes: Uint8Array<ArrayBuffer>, role: string }} Chosen */

/** @type {[string, string][]} */
const ROLES = [
  ["history", "history of tests"],
  ["register", "register of windings"],
  ["policy", "policy"],
  ["settings", "settings"],
  ["unused", "not used"],
];
/** The file of settings, which the program finds by its name beside the histories. */
const SETTINGS = "groundwall.toml";

/**
 * Whether two files have the same content.
 * @param {Uint8Array} one
 * @param {Uint8Array} other
 */
const same = (one, other) => one.length === other.length && one.every((byte, i) => byte === other[i]);

/**
 * The name as an argument: `-` alone would be standard input.
 * @param {string} name
 */
const path = (name) => (name.startsWith("-") ? `./${name}` : name);

/** The chosen files, shown as a list in which each can be given a role or removed. */
export class Files {
  /** @type {Chosen[]} */
  #chosen = [];
  #changed;
  #isRegister;

  /**
   * @param {() => void} changed
   * @param {(name: string, bytes: Uint8Array<ArrayBuffer>) => Promise<boolean>} isRegister
   */
  constructor(changed, isRegister) {
    this.#changed = changed;
    this.#isRegister = isRegister;
  }

  get any() {
    return this.#chosen.some((file) => file.role === "history");
  }

  /** Removes all. */
  clear() {
    this.#chosen = [];
    this.#show();
  }

  /**
   * Adds files, and gives sentences about those that were not simply added. Nothing that was chosen before is replaced.
   * @param {Iterable<File>} list
   */
  async add(list) {
    const remarks = [];
    for (const file of list) {
      let bytes;
      try {
        bytes = new Uint8Array(await file.arrayBuffer());
      } catch {
        remarks.push(`${file.name}: this is a folder, or a file that cannot be read. Choose the files inside the folder.`);
        continue;
      }
      if (this.#chosen.some((other) => same(other.bytes, bytes))) {
        remarks.push(`${file.name}: a file with this content is in the list already, so it was not added again.`);
        continue;
      }
      const name = this.#free(file.name);
      if (name !== file.name) {
        remarks.push(`${name}: another file named ${file.name} is in the list, so this one got a number. Remove the one that is out of date.`);
      }
      this.#chosen.push({ name, bytes, role: await this.#guess(name, bytes) });
    }
    this.#show();
    return remarks;
  }

  /** The options that name the register and the policy. */
  options() {
    return ["register", "policy"].flatMap((role) => this.#names(role).map((name) => `--${role}=${path(name)}`));
  }

  /** The histories, as the last arguments. */
  histories() {
    return ["--", ...this.#names("history").map(path)];
  }

  /** The bytes of those in use, by name. */
  bytes() {
    return Object.fromEntries(this.#chosen.filter((file) => file.role !== "unused").map(({ name, bytes }) => [name, bytes]));
  }

  /** @param {string} role */
  #names(role) {
    return this.#chosen.filter((file) => file.role === role).map((file) => file.name);
  }

  /**
   * A name that no other file has.
   * @param {string} name
   */
  #free(name) {
    const [stem, ending] = name.match(/^(.+?)((?:\.[^.]+)*)$/s)?.slice(1) ?? [name, ""];
    for (let number = 1; ; number++) {
      const free = number === 1 ? name : `${stem} (${number})${ending}`;
      if (!this.#chosen.some((file) => file.name === free)) return free;
    }
  }

  /**
   * What a file seems to be; the person decides.
   * @param {string} name
   * @param {Uint8Array<ArrayBuffer>} bytes
   */
  async #guess(name, bytes) {
    const role = name === SETTINGS ? "settings" : /\.toml$/i.test(name) ? "policy" : (await this.#isRegister(name, bytes)) ? "register" : "history";
    return role !== "history" && this.#names(role).length ? "unused" : role;
  }

  #show() {
    byId("files").replaceChildren(...this.#chosen.map((file) => this.#row(file)));
    this.#changed();
  }

  /** @param {Chosen} file */
  #row(file) {
    const options = ROLES.filter(([value]) => (value === "settings") === (file.name === SETTINGS) || value === "unused").map(([value, label]) =>
      element("option", { value, textContent: label, selected: value === file.role }),
    );
    const role = element("select", { ariaLabel: `What ${file.name} is`, onchange: () => this.#give(file, role.value) }, ...options);
    const remove = button("Remove", () => this.#remove(file), { ariaLabel: `Remove ${file.name}` });
    return element("li", {}, element("span", { className: "file", textContent: file.name }), role, remove);
  }

  /**
   * @param {Chosen} file
   * @param {string} role
   */
  #give(file, role) {
    // There is one register and one policy.
    if (role === "register" || role === "policy") {
      for (const other of this.#chosen) if (other.role === role) other.role = "unused";
    }
    file.role = role;
    this.#show();
  }

  /** @param {Chosen} file */
  #remove(file) {
    this.#chosen = this.#chosen.filter((other) => other !== file);
    this.#show();
  }
}
