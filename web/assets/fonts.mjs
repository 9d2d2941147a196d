// Copies the face of headings and figures, in Latin letters, to where the program embeds it.
import { copyFile, mkdir } from "node:fs/promises";
import { createRequire } from "node:module";

const from = createRequire(import.meta.url).resolve("@fontsource/aleo/files/aleo-latin-700-normal.woff2");
const vendor = new URL("../static/vendor/", import.meta.url);
await mkdir(vendor, { recursive: true });
await copyFile(from, new URL("aleo-700.woff2", vendor));
