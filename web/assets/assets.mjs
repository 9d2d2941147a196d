// Copies what the program embeds of others' to where it is embedded: the face of headings and figures, in Latin
// letters, and the passwords that are used most.
import { copyFile, mkdir, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { dictionary } from "@zxcvbn-ts/language-common";

const from = createRequire(import.meta.url).resolve("@fontsource/aleo/files/aleo-latin-700-normal.woff2");
const vendor = new URL("../static/vendor/", import.meta.url);
await mkdir(vendor, { recursive: true });
await copyFile(from, new URL("aleo-700.woff2", vendor));

const most = 10000; // the most used first; ASVS 5.0, 6.2.4, asks for 3000
await writeFile(new URL("../door/known/passwords.txt", import.meta.url), dictionary["passwords-common"].slice(0, most).join("\n") + "\n");
