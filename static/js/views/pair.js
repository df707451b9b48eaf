/* Pairing: by the link, whose secret leaves the address bar at once, or by a typed code and number. */

import { say } from "../core/words.js";
import { claim } from "../net/plan.js";
import { load } from "../store/state.js";
import { button, h, speak } from "./dom.js";
import { choice } from "./parts.js";
import { heading } from "./frame.js";

/** The secret of the link, taken out of the address bar; null when there is none. */
export function secretInLink() {
  const found = /^#pair=(.+)$/.exec(location.hash);
  if (location.hash) history.replaceState(null, "", location.pathname);
  return found ? decodeURIComponent(found[1]) : null;
}

/** The screen before anything else. */
export function pair(app, { error = null, whose = "patient", code = "", number = "" } = {}) {
  const byLink = Boolean(app.secret);
  const again = (whom) => app.show("pair", { error, whose: whom, ...typed() });
  const send = () => tryClaim(app, byLink ? { secret: app.secret } : typed(), whose);
  return {
    title: say("pair.title"),
    main: [
      heading(say("pair.title")),
      error ? h("p", { class: "wrong", role: "alert" }, error) : null,
      byLink ? h("p", {}, say("pair.by_link")) : fields(code, number),
      h("h2", { class: "unseen" }, say("pair.whose")), h("p", {}, say("pair.whose")),
      h("div", { class: "choices" }, ["patient", "carer"].map((whom) => choice(say(`pair.${whom}`), whose === whom, () => again(whom)))),
    ].filter(Boolean),
    acts: [
      byLink && error ? button("alt", say("pair.type_instead"), () => { app.secret = null; app.show("pair", { whose }); }) : null,
      button("go", say("pair.go"), send),
    ],
  };
}

function fields(code, number) {
  const field = (name, value, more) => h("label", { class: "field" }, say(`pair.${name}`),
    h("input", { id: name, value, autocomplete: "off", autocapitalize: "characters", spellcheck: "false", ...more }));
  return [h("p", { class: "quiet" }, say("pair.by_code")), field("code", code, { autocomplete: "one-time-code" }), field("number", number)];
}

const valueOf = (id) => document.getElementById(id)?.value.trim() ?? "";

const typed = () => ({ code: valueOf("code").toUpperCase(), number: valueOf("number") });

async function tryClaim(app, proof, whose) {
  if (!proof.secret && !(proof.code && proof.number)) return fail(app, say("pair.error.both"), proof, whose);
  speak(say("pair.waiting"));
  try {
    await claim(proof, whose, deviceName());
  } catch (error) {
    return fail(app, reason(error), proof, whose);
  }
  app.secret = null;
  app.state = await load();
  app.home();
  return app.meet({ stale: true });
}

function fail(app, words, { code, number }, whose) {
  app.show("pair", { error: words, whose, code, number });
  speak(words);
}

const KNOWN = ["pairing_unknown", "pairing_used", "pairing_expired", "already_paired_other_patient"];

function reason(error) {
  if (KNOWN.includes(error.code)) return say(`pair.error.${error.code}`);
  return say(error.status === 429 ? "pair.error.too_many" : error.status ? "pair.error.other" : "pair.error.no_signal");
}

function deviceName() {
  const system = /Android|iPhone|iPad|Windows|Mac|Linux/.exec(navigator.userAgent)?.[0] ?? "";
  return system || "phone";
}
