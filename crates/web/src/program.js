// Runs the program once, with files that exist in memory only.

import { ConsoleStdout, Directory, Fd, File, Inode, PreopenDirectory, WASI, wasi } from "@bjorn3/browser_wasi_shim";

/** Standard input without anything in it. */
class Nothing extends Fd {
  fd_read() {
    return { ret: 0, data: new Uint8Array() };
  }

  fd_filestat_get() {
    return { ret: 0, filestat: new wasi.Filestat(Inode.issue_ino(), wasi.FILETYPE_CHARACTER_DEVICE, 0n) };
  }
}

/** Standard output: a pipe whose content is kept. */
class Kept extends ConsoleStdout {
  /** @param {(bytes: Uint8Array) => void} [write] */
  constructor(write) {
    super(write ?? ((bytes) => this.chunks.push(bytes.slice())));
    /** @type {BlobPart[]} */
    this.chunks = [];
  }

  fd_fdstat_get() {
    return { ret: 0, fdstat: new wasi.Fdstat(wasi.FILETYPE_UNKNOWN, 0) };
  }

  async bytes() {
    return new Uint8Array(await new Blob(this.chunks).arrayBuffer());
  }
}

/** Standard error: messages, and lines of progress, which the program writes at once and begins with a carriage return. */
class Messages extends ConsoleStdout {
  /** @param {(text: string) => void} progress */
  constructor(progress) {
    super((bytes) => {
      if (bytes[0] === 13) progress(new TextDecoder().decode(bytes.subarray(1)));
      else this.text += this.decoder.decode(bytes, { stream: true });
    });
    this.text = "";
    this.decoder = new TextDecoder();
  }
}

/**
 * Every file of a folder and of those inside it, by its path.
 * @param {Directory} folder
 * @param {string} path
 * @returns {Generator<[string, File]>}
 */
function* filesOf(folder, path) {
  for (const [name, entry] of folder.contents) {
    if (entry instanceof Directory) yield* filesOf(entry, `${path}${name}/`);
    else if (entry instanceof File) yield [path + name, entry];
  }
}

/**
 * @typedef {Record<string, Uint8Array<ArrayBuffer>>} NamedBytes
 * @typedef {{ status: number, out: Uint8Array<ArrayBuffer>, messages: string, files: NamedBytes }} Ended
 */

/**
 * Runs the program with these arguments and files.
 *
 * The result has the exit status, both streams, and the files that were written. A trap of the program is thrown, with what
 * the program said of it.
 * @param {WebAssembly.Module} module
 * @param {string[]} args
 * @param {NamedBytes} given
 * @param {(text: string) => void} progress
 * @returns {Promise<Ended>}
 */
export async function run(module, args, given, progress) {
  const contents = new Map(Object.entries(given).map(([name, bytes]) => [name, new File(bytes, { readonly: true })]));
  const folder = new PreopenDirectory("/", contents);
  const [out, messages] = [new Kept(), new Messages(progress)];
  const system = new WASI(["groundwall", ...args], [], [new Nothing(), out, messages, folder]);
  const instance = await WebAssembly.instantiate(module, { wasi_snapshot_preview1: system.wasiImport });
  try {
    const status = system.start(/** @type {any} */ (instance));
    const written = [...filesOf(folder.dir, "")].filter(([name]) => !(name in given));
    const files = /** @type {NamedBytes} */ (Object.fromEntries(written.map(([name, file]) => [name, file.data])));
    return { status, out: await out.bytes(), messages: messages.text, files };
  } catch (error) {
    throw new Error(`${messages.text.trim()} (${/** @type {Error} */ (error).message})`.trim());
  }
}
