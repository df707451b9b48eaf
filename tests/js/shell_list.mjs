/* The list of the shell's files and the version that is their hash. `node tests/js/shell_list.mjs --write` writes it anew. */

import { createHash } from "node:crypto";
import { readFileSync, readdirSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const ROOT = fileURLToPath(new URL("../../", import.meta.url));
const LIST = "static/js/sw/files.js";
const SERVED_ELSEWHERE = { "/phone/": "templates/phone/shell.html", "/phone/manifest.webmanifest": "static/manifest.webmanifest" };
const FOLDERS = ["static/js", "static/css/phone", "static/icons"];
const SINGLE = ["shared/phrases/en.json", "static/css/tokens.css", "static/css/base.css", "static/css/parts.css", "static/css/figure.css", "static/signs.svg"];
const NOT_OURS = /^static\/js\/staff|maskable\.svg$/;   // pages of the clinic never run on a patient's phone; nothing shows the drawing of a .png

function walk(folder) {
  return readdirSync(join(ROOT, folder)).flatMap((name) => {
    const path = `${folder}/${name}`;
    return statSync(join(ROOT, path)).isDirectory() ? walk(path) : [path];
  });
}

/** {address: path in the project} of all files of the shell. */
export function shellFiles() {
  const paths = [...FOLDERS.flatMap(walk), ...SINGLE].filter((path) => path !== LIST && !NOT_OURS.test(path)).sort();
  return { ...SERVED_ELSEWHERE, ...Object.fromEntries(paths.map((path) => [`/${path}`, path])) };
}

/** Addresses of the scripts the worker itself runs: they come one by one, whoever asks. */
function workersOwn(path = "static/sw.js", found = new Set()) {
  for (const [, asked] of readFileSync(join(ROOT, path), "utf8").matchAll(/from "([^"]+)"/g)) {
    const next = asked.startsWith("/") ? asked : `/${join(path, "..", asked)}`;
    if (found.has(next)) continue;
    found.add(next);
    workersOwn(next.slice(1), found);
  }
  return found;
}

/** Addresses that come to the worker in one file: what neither it nor the page has asked for before. */
export function packed() {
  const own = workersOwn();
  return Object.keys(shellFiles()).filter((address) => /\.(js|json)$|signs/.test(address) && !own.has(address) && address !== "/static/js/app.js");
}

/** What files.js must read. */
export function listText() {
  const files = shellFiles();
  const hash = createHash("sha256");
  for (const [address, path] of Object.entries(files)) hash.update(address).update(readFileSync(join(ROOT, path)));
  hash.update(readFileSync(join(ROOT, "static/sw.js")));
  const whole = packed();
  const alone = [...Object.keys(files), `/${LIST}`].filter((address) => !whole.includes(address));
  const list = (addresses) => addresses.map((address) => `  "${address}",`).join("\n");
  return `/* Written by tests/js/shell_list.mjs: the files of the phone's shell; the version is their hash. */

export const VERSION = "${hash.digest("hex").slice(0, 12)}";

/* Those that come one by one. */
export const ALONE = [
${list(alone)}
];

/* Those that come in one file, /phone/shell.json. */
export const PACKED = [
${list(whole)}
];
`;
}

if (process.argv.includes("--write")) writeFileSync(join(ROOT, LIST), listText());
