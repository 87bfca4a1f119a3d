// The program's own thread: the page stays usable while a long run goes on.

import { run } from "./program.js";

const { postMessage } = /** @type {{ postMessage(message: unknown, transfer?: Transferable[]): void }} */ (/** @type {unknown} */ (self));

onmessage = async ({ data: { module, args, files } }) => {
  try {
    const ended = await run(module, args, files, (progress) => postMessage({ progress }));
    const written = Object.values(ended.files).map((bytes) => bytes.buffer);
    postMessage({ ended }, [ended.out.buffer, ...written]);
  } catch (error) {
    postMessage({ trap: /** @type {Error} */ (error).message });
  }
};
