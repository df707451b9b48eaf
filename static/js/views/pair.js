/* Pairing: by the link, whose secret leaves the address bar at once, by a code of the clinic, or by one of this phone's browser. */

import { inFours, isOwnCode, secretOf } from "../core/code.js";
import { say } from "../core/words.js";
import { claim } from "../net/plan.js";
import { load } from "../store/state.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { installed } from "./install.js";
import { choice, rows } from "./parts.js";
import { canScan } from "./scan.js";

/** The secret of the link, taken out of the address bar; null when there is none. */
export function secretInLink() {
  const secret = secretOf(location.href, location.origin);
  if (location.hash) history.replaceState(null, "", location.pathname);
  return secret;
}

/** The screen before anything else. `kind`: "link", "own" (the app on the home screen) or "clinic".
    @param {App} app @param {any} given */
export function pair(app, { error = null, whose = "patient", code = "", number = "", kind = null, busy = false } = {}) {
  const here = kind ?? (app.secret ? "link" : installed() ? "own" : "clinic");
  const again = (more) => app.show("pair", { error: null, whose, kind: here, ...typed(), ...more });
  const send = () => tryClaim(app, here === "link" ? { secret: app.secret } : typed(), whose, here);
  return {
    title: say("pair.title"),
    main: [
      heading(say("pair.title")), error ? h("p", { class: "wrong", role: "alert" }, error) : null,
      ...(here === "link" ? [h("p", {}, say("pair.by_link"))] : fields(here, code, number, send)),
      here === "own" ? null : [h("h2", { class: "unseen" }, say("pair.whose")), h("p", {}, say("pair.whose")),
        h("div", { class: "choices" }, ["patient", "carer"].map((whom) => choice(say(`pair.${whom}`), whose === whom, () => again({ whose: whom, error }))))],
      here === "link" ? null : rows(ways(app, here, again)),
    ].flat().filter(Boolean),
    acts: busy ? [h("p", { class: "until", role: "status" }, say("pair.waiting"))] : [
      here === "link" && error ? button("alt", say("pair.type_instead"), () => { app.secret = null; app.show("pair", { whose, kind: "clinic" }); }) : null,
      button("go", say("pair.go"), send),
    ],
  };
}

function fields(kind, code, number, send) {
  const field = (name, value, hint, then, more) => h("label", { class: "field" }, say(`pair.${name}`), h("input", {
    id: name, value, autocomplete: "off", autocapitalize: "characters", autocorrect: "off", spellcheck: "false", enterkeyhint: hint, onkeydown: (event) => event.key === "Enter" && then(), ...more }));
  const codeField = (hint, then, more) => field("code", inFours(code), hint, then, { class: "typed", oninput: group, onchange: group, ...more });
  if (kind === "own") return [h("p", {}, say("pair.by_own")), h("p", { class: "quiet" }, say("pair.from_own")), codeField("go", send)];
  return [h("p", { class: "quiet" }, say("pair.by_code")), codeField("next", () => document.getElementById("number")?.focus(), { autocomplete: "one-time-code" }), field("number", number, "go", send)];
}

/** What is typed stands as the code is shown; not while it is mended in the middle, or the keyboard still composes it: that would double letters. */
function group({ type, isComposing, target }) {
  if (type === "change" || (!isComposing && target.selectionStart === target.value.length)) target.value = inFours(target.value);
}

/** Other ways than typing, where there are any. */
function ways(app, kind, again) {
  const paste = async () => {
    const text = await navigator.clipboard.readText().catch(() => "");
    if (text) again({ code: text.slice(0, 40) });
  };
  return [
    kind === "own" && Boolean(navigator.clipboard?.readText) && { words: say("pair.paste"), act: paste },
    kind === "clinic" && canScan() && { words: say("pair.scan"), act: () => app.go("scan") },
    { words: say(kind === "own" ? "pair.from_clinic" : "pair.from_phone"), act: () => again({ kind: kind === "own" ? "clinic" : "own" }) },
  ];
}

/** @param {string} id */
const valueOf = (id) => document.getElementById(id)?.value.trim() ?? "";

const typed = () => ({ code: valueOf("code"), number: valueOf("number") });

let linking = false;

async function tryClaim(app, proof, whose, kind) {
  if (linking) return null;
  const given = { ...proof, whose, kind };
  if (!proof.secret && !proof.code) return fail(app, say(kind === "own" ? "pair.error.code" : "pair.error.both"), given);
  if (!proof.secret && !proof.number && !isOwnCode(proof.code)) return fail(app, say(kind === "own" ? "pair.own_error.pairing_unknown" : "pair.error.both"), given);
  linking = true;
  app.show("pair", { ...given, busy: true });
  speak(say("pair.waiting"));
  try {
    await claim(proof.secret ? { secret: proof.secret } : isOwnCode(proof.code) ? { code: proof.code } : proof, whose, deviceName());
  } catch (error) {
    return fail(app, reason(error, kind), given);
  } finally {
    linking = false;
  }
  app.secret = null;
  app.state = await load();
  app.home();
  return app.meet({ stale: true });
}

function fail(app, words, given) {
  app.show("pair", { ...given, error: words });
  speak(words);
}

const KNOWN = ["pairing_unknown", "pairing_used", "pairing_expired", "already_paired_other_patient"];

/** @param {any} error @param {string} kind */
function reason(error, kind) {
  const own = kind === "own" && error.code?.startsWith("pairing_");
  if (KNOWN.includes(error.code)) return say(`pair.${own ? "own_error" : "error"}.${error.code}`);
  return say(error.status === 429 ? "pair.error.too_many" : error.status ? "pair.error.other" : "pair.error.no_signal");
}

function deviceName() {
  const system = /Android|iPhone|iPad|Windows|Mac|Linux/.exec(navigator.userAgent)?.[0] ?? "";
  return system || "phone";
}
