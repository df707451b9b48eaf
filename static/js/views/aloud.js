/* Read aloud: what the screen says, in the order that matters, and nothing that is only an ornament. */

import { sentences, spelled } from "../core/speech.js";
import { say } from "../core/words.js";
import { h, icon } from "./dom.js";
import { hush, onVoices, read, voice } from "./voice.js";

const BLOCKS = "p, h1, h2, h3, li, dt, dd, button, a, label, section, div, small";
const LEFT_OUT = "[aria-hidden=true], [hidden], .signs";   // the key under the signs says the same in short

/** What an element says, parted by line ends between blocks; a picture says its own description. */
function words(element, skip = []) {
  if (element.nodeType === Node.TEXT_NODE) return element.data;
  if (element.nodeType !== Node.ELEMENT_NODE || element.matches(LEFT_OUT) || skip.includes(element)) return "";
  const label = element.matches("button, a, svg, [role=img]") ? element.getAttribute("aria-label") : null;
  const own = label ?? (element.matches("svg") ? described(element) : [...element.childNodes].map((child) => words(child, skip)).join(""));
  return element.matches(BLOCKS) || element.matches("svg") ? `\n${own}\n` : `${own} `;
}

const described = (svg) => ["title", "desc"].map((tag) => svg.querySelector(tag)?.textContent).filter(Boolean).join(". ");

/** The screen in sentences: hand and finger, heading, cautions, all else in its order, last what can be tapped. */
export function readable(phone, tels = []) {
  const first = [phone.querySelector(".top p"), phone.querySelector("h1"), ...phone.querySelectorAll(".care")].filter(Boolean);
  const told = [...first.map((part) => words(part)), ...[...phone.querySelectorAll("main, .acts")].map((part) => words(part, first))];
  return sentences(spelled(told.join("\n"), tels));
}

/** The numbers of a plan, which are read digit by digit.
    @param {Plan | null} plan */
const telsOf = (plan) => [...(plan?.body.ring ?? []), plan?.body.emergency].map((entry) => entry?.tel);

let drawn = "";
let reading = false;

/** What is being read belongs to the screen before: stop it. */
export function hushOnLeaving(screen) {
  if (screen !== drawn) hush();
  drawn = screen;
}

/** The button, hidden where the device has no voice for the language; a second tap stops.
    @param {App} app */
export function aloudButton(app) {
  const turn = () => {
    if (reading) return hush();
    reading = true;
    read(readable(document.getElementById("phone"), telsOf(app.state.plan)), app.language(), () => { reading = false; dress(); });
    return dress();
  };
  return dress(h("button", { type: "button", id: "aloud", hidden: !voice(app.language()), onclick: turn }));
}

/** What the button says and shows now. */
function dress(element = document.getElementById("aloud")) {
  if (!element) return null;
  element.setAttribute("aria-label", say(reading ? "read_stop" : "read_aloud"));
  element.replaceChildren(icon(reading ? "hush" : "aloud"));
  return element;
}

onVoices(() => document.getElementById("aloud")?.toggleAttribute("hidden", !voice(document.documentElement.lang)));
