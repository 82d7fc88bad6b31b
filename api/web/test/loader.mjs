// Lets Node load the page's modules and its tests outside a bundle, until Node does so
// by itself: the bundler's own transform takes the types out, and styles are nothing.
import { readFile } from "node:fs/promises";
import { register } from "node:module";
import { fileURLToPath } from "node:url";
import { isMainThread } from "node:worker_threads";

if (isMainThread) register(import.meta.url); // hooks live in a thread of their own

export async function load(url, context, next) {
  if (url.endsWith(".css")) return { format: "module", source: "", shortCircuit: true };
  if (!url.startsWith("file:") || !/\.tsx?$/.test(url)) return next(url, context);
  const { transformWithOxc } = await import("vite");
  const file = fileURLToPath(url);
  const { code, map } = await transformWithOxc(await readFile(file, "utf8"), file, { sourcemap: true });
  const inline = Buffer.from(JSON.stringify(map)).toString("base64");
  return {
    format: "module",
    source: `${code}\n//# sourceMappingURL=data:application/json;base64,${inline}`,
    shortCircuit: true,
  };
}
