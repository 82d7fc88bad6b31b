// Writes src/api.gen.ts, the types of the interface, from the description of it
// that comes in on standard input; with --check it only says whether they differ.
//
//   wideberth openapi | node generate.mjs [--check]
//
// It stands in a folder of its own because the generator wants another TypeScript
// than the one that checks the page.
import { readFileSync, writeFileSync } from "node:fs";
import { text } from "node:stream/consumers";
import openapiTS, { astToString } from "openapi-typescript";

const target = new URL("../src/api.gen.ts", import.meta.url);

const description = JSON.parse(await text(process.stdin));
for (const path of Object.values(description.paths)) {
  for (const operation of Object.values(path)) {
    // A fault is the same document whatever its status: one of them is enough to read it by.
    for (const status of Object.keys(operation.responses)) {
      if (/^[45]/.test(status)) delete operation.responses[status];
    }
    // Examples are for those who try the interface by hand.
    for (const form of Object.values(operation.requestBody?.content ?? {})) delete form.example;
  }
}

const types = await openapiTS(description, { arrayLength: true });
const made = `// Made from the server's description of its interface: make types. Not to be edited.\n\n${astToString(types)}`;

if (!process.argv.includes("--check")) writeFileSync(target, made);
else if (readFileSync(target, "utf8") !== made) {
  console.error("api/web/src/api.gen.ts is not what the server describes: run make types and look at what changed");
  process.exit(1);
}
