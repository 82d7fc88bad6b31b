import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { defineConfig, type Plugin } from "vite";

// The service worker keeps the whole page for when the network is gone. It is
// told here which files that is, and by their hash when they have changed.
function offlineFiles(): Plugin {
  return {
    name: "offline-files",
    generateBundle(_options, bundle) {
      const worker = bundle["sw.js"];
      if (worker?.type !== "chunk") throw new Error("the service worker was not built");
      const files = Object.keys(bundle)
        .filter((f) => f !== "sw.js" && !/\.woff$/.test(f))
        .sort();
      const hash = createHash("sha256")
        .update(files.join("\n") + worker.code)
        .digest("hex")
        .slice(0, 12);
      worker.code = worker.code
        .replace(/["'`]__FILES__["'`]/, () =>
          JSON.stringify(
            files.filter((f) => f !== "index.html").concat(readdirSync("public").filter((f) => !f.startsWith("."))),
          ),
        )
        .replace(/["'`]__VERSION__["'`]/, () => JSON.stringify(hash));
    },
  };
}

// The terms of everything that is built in travel with it.
function licences(): Plugin {
  return {
    name: "licences",
    generateBundle() {
      const lock = JSON.parse(readFileSync("package-lock.json", "utf8")) as {
        packages: Record<string, { dev?: boolean; link?: boolean; version: string; license?: string }>;
      };
      const texts = Object.entries(lock.packages)
        .filter(([path, p]) => path.startsWith("node_modules/") && !p.dev && !p.link && existsSync(path))
        .map(([path, p]) => {
          const file = readdirSync(path).find((f) => /^(licen[cs]e|copying)/i.test(f));
          return `${path.replace(/^.*node_modules\//, "")} ${p.version} (${p.license ?? "see below"})\n\n${file ? readFileSync(`${path}/${file}`, "utf8").trim() : ""}\n`;
        });
      this.emitFile({ type: "asset", fileName: "licences.txt", source: texts.join("\n----\n\n") });
    },
  };
}

export default defineConfig({
  base: "./",
  plugins: [licences(), offlineFiles()],
  build: {
    target: "es2022",
    assetsInlineLimit: 0, // a data: URL of a font or script would break the content policy
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1500,
    rollupOptions: {
      input: { index: "index.html", sw: "src/sw.ts" },
      output: { entryFileNames: (c) => (c.name === "sw" ? "sw.js" : "assets/[name]-[hash].js") },
    },
  },
});
