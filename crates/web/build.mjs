// Builds target/dist/groundwall.html: the program, compiled for a browser, and the page around it in one file.
//
// `node crates/web/build.mjs` needs cargo with the target wasm32-wasip1, xz, and npm for what package-lock.json names.

import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { encoded } from "./src/digits.js";

const here = dirname(fileURLToPath(import.meta.url));
const root = join(here, "../..");
const engine = join(root, "crates/engine/src");
const out = join(root, "target/dist/groundwall.html");
const text = (file) => readFileSync(file, "utf8");
// A third smaller than with gzip, which is all that browsers can unpack by themselves; the page has a reader for it.
const packed = (bytes) => execFileSync("xz", ["-9e", "--check=crc32", "--stdout"], { input: bytes, maxBuffer: 1 << 26 });
const run = (program, args, cwd) => execFileSync(program, args, { cwd, stdio: "inherit" });

if (!existsSync(join(here, "node_modules/esbuild"))) run("npm", ["ci", "--ignore-scripts", "--no-audit", "--no-fund"], here);
const { build } = await import("esbuild");

run("cargo", ["build", "--profile", "web", "--locked", "-p", "groundwall-cli", "--bin", "groundwall", "--target", "wasm32-wasip1"], root);
const program = readFileSync(join(root, "target/wasm32-wasip1/web/groundwall.wasm"));

/** The script of the report's list, as a function that can be called for every list. */
const reports = {
  name: "reports",
  setup({ onResolve, onLoad }) {
    onResolve({ filter: /^report\// }, ({ path }) => ({ path: join(engine, path), namespace: "reports" }));
    onLoad({ filter: /./, namespace: "reports" }, ({ path }) => ({ contents: `export default () => {${text(path)}};` }));
  },
};

async function bundled(name) {
  const { outputFiles } = await build({
    entryPoints: [join(here, "src", name)],
    plugins: [reports],
    bundle: true,
    minify: true,
    write: false,
    format: "esm",
    target: "es2022",
    logLevel: "warning",
  });
  // A script inside HTML ends at the first `</script`, also inside a string.
  return outputFiles[0].text.trim().replaceAll("</script", "<\\/script");
}

/** An inline text as the security policy names it. */
const digest = (inline) => `'sha256-${createHash("sha256").update(inline).digest("base64")}'`;

const [page, worker] = [await bundled("page.js"), await bundled("worker.js")];
const [pages, style] = [text(join(engine, "page/page.css")), text(join(here, "src/page.css"))];
const security = [
  "default-src 'none'",
  "connect-src 'none'",
  `script-src ${digest(page)} 'wasm-unsafe-eval'`,
  "worker-src blob:",
  `style-src ${digest(pages)} ${digest(style)}`,
  "img-src data:",
  "base-uri 'none'",
  "form-action 'none'",
];
const safety = /macro_rules! safety[\s\S]*?"([\s\S]*?)"\s*\}/.exec(text(join(engine, "cautions.rs")));
if (!safety) throw new Error("cautions.rs has no safety text any more");
const parts = {
  SECURITY: security.join("; "),
  REPORTS: pages,
  STYLE: style,
  SAFETY: safety[1].replaceAll(/\\\n\s*/g, ""),
  PROGRAM: encoded(packed(program)),
  WORKER: worker,
  PAGE: page,
};
const html = text(join(here, "src/page.html")).replaceAll(/\{\{(\w+)\}\}/g, (_, name) => parts[name]);
mkdirSync(dirname(out), { recursive: true });
writeFileSync(out, html);
const megabytes = (bytes) => `${(bytes / 1e6).toFixed(2)} MB`;
console.log(`${out}: ${megabytes(statSync(out).size)}, of it ${megabytes(parts.PROGRAM.length)} the program, unpacked ${megabytes(program.length)}`);
