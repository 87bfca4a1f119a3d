// Starts the program, one run after another. Each has a worker of its own, which takes its memory with it when it ends.

import { XzReadableStream } from "xz-decompress";
import { decoded } from "./digits.js";
import { byId } from "./dom.js";

/** @typedef {import("./program.js").NamedBytes} NamedBytes */
/** @typedef {import("./program.js").Ended} Ended */

/** Why a run has no result: the program broke down, or somebody stopped it. */
export class Broken extends Error {}
export class Stopped extends Error {}

/**
 * The text of a block of data in the page.
 * @param {string} id
 */
const text = (id) => byId(id).textContent.trim();

/** The program, unpacked and compiled once. */
async function compiled() {
  const bytes = decoded(text("program"));
  byId("program").remove();
  return WebAssembly.compile(await new Response(new XzReadableStream(new Blob([bytes]).stream())).arrayBuffer());
}

export class Runner {
  #module = compiled();
  #source = URL.createObjectURL(new Blob([text("worker")], { type: "text/javascript" }));
  /** @type {Promise<unknown>} */
  #last = Promise.resolve();
  #stop = () => {};

  /** Stops what runs now. */
  stop() {
    this.#stop();
  }

  /**
   * Runs the program once what was asked before has ended; fails with {@link Broken} or {@link Stopped}.
   * @param {string[]} args
   * @param {NamedBytes} [files]
   * @param {(text: string) => void} [progress]
   * @returns {Promise<Ended>}
   */
  run(args, files = {}, progress = () => {}) {
    const result = this.#last.then(() => this.#start(args, files, progress));
    this.#last = result.catch(() => {});
    return result;
  }

  /**
   * @param {string[]} args
   * @param {NamedBytes} files
   * @param {(text: string) => void} progress
   * @returns {Promise<Ended>}
   */
  async #start(args, files, progress) {
    const module = await this.#module;
    const worker = new Worker(this.#source);
    try {
      return await new Promise((resolve, reject) => {
        this.#stop = () => reject(new Stopped());
        worker.onerror = (event) => reject(new Broken(event.message));
        worker.onmessage = ({ data }) => {
          if (data.progress) progress(data.progress);
          else if (data.ended) resolve(data.ended);
          else reject(new Broken(data.trap));
        };
        worker.postMessage({ module, args, files });
      });
    } finally {
      worker.terminate();
      this.#stop = () => {};
    }
  }
}
