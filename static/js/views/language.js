/* The language of this phone: each by the name its own speakers read. */

import { say } from "../core/words.js";
import { chooseLanguage } from "../net/words.js";
import { fetchPlan } from "../net/plan.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";
import { choice } from "./parts.js";

/** The languages a clinic offers; none where there is no choice.
    @param {App} app */
export function offered(app) {
  const told = app.state.plan?.body.languages_offered ?? [];
  return told.length > 1 ? told : [];
}

/** A name in its own script, whatever language is spoken round it.
    @param {any} given */
const named = ({ code, name }) => h("bdi", { lang: code }, name);

/** The row of the menu: it is found by the names of the other languages. */
export function languageRow(app) {
  const others = offered(app).filter(({ code }) => code !== app.language());
  if (!others.length) return null;
  return { words: say("language.title"), far: others.flatMap((each, i) => [i ? say("figure.comma") : "", named(each)]), act: () => app.go("language") };
}

/** A button a language; `then` runs once the phone speaks it. Without a signal nothing changes, and it says so. */
export function languageChoices(app, then, failed) {
  const choose = async (code) => {
    try {
      await chooseLanguage(code);
      await fetchPlan();
    } catch {
      speak(say("language.no_signal"));
      return failed?.();
    }
    await app.reload();
    return then();
  };
  return h("div", { class: "choices" }, offered(app).map((each) => choice(named(each), each.code === app.language(), () => choose(each.code))));
}

/** @param {App} app @param {any} given */
export function language(app, { error = null } = {}) {
  const failed = () => app.show("language", { error: say("language.no_signal") });
  return {
    title: say("language.title"),
    main: [heading(say("language.choose")), error ? h("p", { class: "wrong", role: "alert" }, error) : null, languageChoices(app, app.home, failed)].filter(Boolean),
    acts: [button("alt", say("go_back"), () => history.back())],
    actsKind: "low",
  };
}
