/* A mark above the act row while a screen goes on further down: what is cut off must not be taken for all. */

import { say } from "../core/words.js";
import { h } from "./dom.js";

const NEAR_PX = 12;   // as good as at the end

/** The mark; an ornament for the eye, as a screen reader reads on by itself. */
export const below = () => h("div", { class: "below", "aria-hidden": "true", hidden: true }, h("span", {}, say("more_below")));

/** Show the mark while a part that scrolls has more to show.
    @param {HTMLElement} phone */
export function watchBelow(phone) {
  const mark = phone.querySelector(".below");
  const parts = [...phone.querySelectorAll(".roll, main")].filter((part) => getComputedStyle(part).overflowY === "auto");
  const tell = () => { mark?.toggleAttribute("hidden", !parts.some((part) => part.scrollHeight - part.clientHeight - part.scrollTop > NEAR_PX)); };
  for (const part of parts) part.addEventListener("scroll", tell, { passive: true });
  tell();
}
