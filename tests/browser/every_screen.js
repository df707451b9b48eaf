/* Shows one screen of the phone by its name, in a state that fills it; run in the page by test_screens.py. */
async ({ name, state }) => {
  const { app } = await import("/static/js/views/stage.js");
  const { SCREENS } = await import("/static/js/views/screens.js");
  app.reload = async () => {};   // nothing takes the screen away while it is looked at
  app.kept ??= structuredClone(app.state);
  app.state = structuredClone(app.kept);
  app.chosen = app.draft = app.pacing = null;
  const body = app.state.plan.body;
  const [course] = body.courses;
  const now = new Date(app.now()).toISOString();
  const leading = course.exercises.find((each) => each.leading) ?? course.exercises[0];
  const slot = course.slots.find((each) => each.exercise === leading.key && Date.parse(each.end) <= app.now()) ?? course.slots[0];
  const bout = { id: "b", course: course.id, exercise: leading.key, amount: 10, unit: "times", how: "one_tap", pain: 3, pain_asked: true, slot_start: null, done_at: now, entered_at: now, offset_ms: 0, supersedes: null, acked_seq: null };
  const report = { id: "r", course: course.id, kind: "snap", at: now, offset_ms: 0, stops: true, question: null, acked_seq: null, taken_back: false };
  const other = () => { body.courses.push({ ...structuredClone(course), id: "second", hand: "Right hand", finger: "thumb", working_side: "left" }); };
  const states = {
    between: () => { course.slots = course.slots.filter((each) => Date.parse(each.end) <= app.now() || Date.parse(each.start) > app.now()); },
    logged: () => { app.state.bouts = [bout, { ...bout, id: "c", slot_start: slot.start, how: "later", done_at: null }]; },
    both: other,
    big: () => { app.state.ways = { ...app.state.ways, big: true }; },
    carer: () => { app.state.device = { ...app.state.device, whose: "carer" }; },
    emergency: () => { app.state.reports = [{ ...report, kind: "white_blue_cold" }]; },
    different: () => { app.state.reports = [{ ...report, kind: "told_different", stops: false }]; },
    stopped: () => { app.state.reports = [report]; },
    rest: () => { course.exercises = []; course.slots = []; },
    unread: () => { app.state.reads = {}; },
    refused: () => { app.state.outbox = [{ item: { ...bout, type: "bout", zone: app.zone() }, refused: { code: "invalid", message: "The exercise is not known." } }]; },
    closed: () => { body.closed = { words: "Your plan is finished.", ring: body.ring }; },
    asked: () => { course.release_question = { id: "q", phase: "Bend further against the band", from: now }; },
    hand: () => { course.hand_question = { id: "h", hand: course.hand, finger: course.finger, splint: course.phase.splint }; },
    old: () => { app.state.contact = Date.now() - 80 * 3_600_000; },
    full: () => { app.draft = { at: 0, course: course.id, tasks: [{ exercise: leading.key, amount: 10, unit: "times", words: leading }], goes: [], done: 10, how: "counted" }; },
    part: () => { app.draft = { at: 0, course: course.id, tasks: [{ exercise: leading.key, amount: 10, unit: "times", words: leading }], goes: [], done: 4, how: "counted" }; },
    minutes: () => { app.draft = { at: 0, course: course.id, tasks: [{ exercise: leading.key, amount: 5, unit: "minutes", words: leading }], goes: [], done: 0, how: "counted" }; },
  };
  const args = {
    amend: { bout }, asks: { kind: "splint_off_and_back" }, fill: { slot }, pain: { goes: [{ exercise: leading.key, amount: 10, unit: "times", how: "one_tap" }] },
    said: { id: "r", kind: "bump", course: course.id, at: now, offset_ms: 0, more: [], offers: ["wound"] }, saved: { bouts: [bout] },
    text: { keys: Object.keys(body.texts).slice(0, 1), offers: ["wound", "fever"] }, well_said: { word: "busy" }, recovered: {},
  };
  if (!name) return Object.keys(SCREENS);
  for (const each of state ? state.split("+") : []) states[each]();
  if (body.courses.length > 1 && name !== "choose") app.chosen = course.id;
  app.show(name, args[name] ?? {});
  return document.querySelector("#phone h1")?.textContent ?? null;
}
