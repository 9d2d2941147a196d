// Copies the face of headings and figures, in Latin letters, to where the program embeds it.
import { copyFile } from "node:fs/promises";
import { createRequire } from "node:module";

const from = createRequire(import.meta.url).resolve("@fontsource/aleo/files/aleo-latin-700-normal.woff2");
await copyFile(from, new URL("../static/vendor/aleo-700.woff2", import.meta.url));
