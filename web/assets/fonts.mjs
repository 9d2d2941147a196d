// Copies the face of headings and figures, in Latin letters, to where the program embeds it.
import { copyFile } from "node:fs/promises";
import { createRequire } from "node:module";

const from = createRequire(import.meta.url).resolve("@fontsource/zilla-slab/files/zilla-slab-latin-700-normal.woff2");
await copyFile(from, new URL("../static/vendor/zilla-slab-700.woff2", import.meta.url));
