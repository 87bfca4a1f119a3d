// The program's own thread: the page stays usable while a long run goes on.

import { run } from "./program.js";

const { postMessage } = /** @type {{ postMessage(message: unknown, transfer?: Transferable[]): void }} */ (/** @type {unknown} */ (self));

onmessage = async ({ data: { number, module, args, files } }) => {
  try {
    const ended = await run(module, args, files, (progress) => postMessage({ number, progress }));
    const written = Object.values(ended.files).map((bytes) => bytes.buffer);
    postMessage({ number, ended }, [ended.out.buffer, ...written]);
  } catch (error) {
    postMessage({ number, trap: /** @type {Error} */ (error).message });
  }
};
