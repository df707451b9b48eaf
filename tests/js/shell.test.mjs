/* The shell: every file is precached, its version follows their content, and nothing breaks the page's policy. */

import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { test } from "node:test";
import { listText, shellFiles } from "./shell_list.mjs";
import { ALONE, PACKED } from "../../static/js/sw/files.js";

const read = (path) => readFileSync(new URL(`../../${path}`, import.meta.url), "utf8");
const scripts = Object.values(shellFiles()).filter((path) => path.endsWith(".js"));

test("the list holds every file of the shell and its version is their hash (else run node tests/js/shell_list.mjs --write)", () => {
  assert.equal(read("static/js/sw/files.js"), listText());
});

test("what the shell's page and scripts ask for is in the list", () => {
  const html = read("templates/phone/shell.html");
  const asked = [...html.matchAll(/(?:href|src)="(\/[^"]+)"/g)].map((match) => match[1]);
  assert.deepEqual(asked.filter((path) => ![...ALONE, ...PACKED].includes(path)), []);
});

test("no icon or drawing is in the list that nothing of the app shows", () => {
  const askers = [...scripts, ...Object.values(shellFiles()).filter((path) => /\.(html|webmanifest)$/.test(path))].map(read).join("\n");
  assert.deepEqual([...ALONE, ...PACKED].filter((path) => /\.(png|svg)$/.test(path) && !askers.includes(path)), []);
});

test("what the type check takes to be in the shell's page is there", () => {
  const html = read("templates/phone/shell.html");
  const ids = [.../getElementById\(id: ([^)]*)\)/.exec(read("tests/js/types/page.d.ts"))[1].matchAll(/"(\w+)"/g)].map((found) => found[1]);
  assert.ok(ids.length);
  for (const part of [...ids.map((id) => `id="${id}"`), "<main"]) assert.ok(html.includes(part), part);
  assert.ok(read("templates/base.html").includes("<main"));
});

test("scripts have at most 200 lines and app.js at most 30", () => {
  const lines = (path) => read(path).split("\n").length - 1;
  assert.deepEqual(scripts.filter((path) => lines(path) > 200), []);
  assert.ok(lines("static/js/app.js") <= 30);
});

test("no string of a script spans lines: comments and indentation may be left out on the way", () => {
  const open = (line) => (line.replace(/\/\*.*?\*\//g, "").match(/`/g) ?? []).length % 2 === 1;
  assert.deepEqual(scripts.filter((path) => read(path).replace(/^\s*\/\*[^]*?\*\/\s*$/gm, "").split("\n").some(open)), []);
  assert.deepEqual(scripts.filter((path) => /"[^"\n]*\s{2,}\/\/ [^"\n]*"/.test(read(path))), []);
});

test("nothing is put in as markup, evaluated, or fetched from elsewhere", () => {
  const banned = /innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|https?:\/\/(?!www\.w3\.org\/2000\/svg)/;
  assert.deepEqual(scripts.filter((path) => banned.test(read(path))), []);
});

test("the shell has no inline script or style", () => {
  assert.doesNotMatch(read("templates/phone/shell.html"), /<style|style=|<script(?![^>]*src=)|\son\w+=/);
});

test("the worker's entry only listens", () => {
  const worker = read("static/sw.js");
  assert.doesNotMatch(worker, /^(async )?function/m);
  for (const name of ["install", "activate", "fetch", "push", "notificationclick", "sync"]) assert.ok(worker.includes(`addEventListener("${name}"`));
});

test("css layers are ordered in one line only", () => {
  const sheets = ["static/css/tokens.css", "static/css/base.css", "static/css/parts.css", ...readdirSync(new URL("../../static/css/phone/", import.meta.url)).map((name) => `static/css/phone/${name}`)];
  const orders = sheets.flatMap((path) => read(path).match(/^@layer [^{]*;/gm) ?? []);
  assert.equal(orders.length, 1);
});

test("the seven signs are there by the names of the standings", () => {
  const ids = [...read("static/signs.svg").matchAll(/<symbol id="([^"]+)"/g)].map((match) => match[1]);
  assert.deepEqual(ids, ["logged", "part", "later", "not_logged", "unknown", "excused", "ahead"]);
});
