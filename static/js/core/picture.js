/* What a drawing sent with the plan may hold: lines, words and their own movement, nothing that runs or fetches. */

const SHAPES = new Set(["svg", "g", "defs", "title", "desc", "path", "line", "polyline", "polygon", "circle", "ellipse", "rect", "text", "tspan", "marker", "clipPath", "animate", "animateTransform"]);
const RUNS = /^on|href$|^(style|src|xml:base)$/i;
const FETCHES = /url\(\s*['"]?(?!#)|javascript:/i;

/** Whether a drawing, an element with its attributes and children, is made of harmless parts only. */
export function harmless(element) {
  const own = SHAPES.has(element.localName) && [...element.attributes].every(({ name, value }) => !RUNS.test(name) && !FETCHES.test(value));
  return own && [...element.children].every(harmless);
}

/** Which picture goes with a trouble: how to lay the arm, or the splint opened with the arm left on it. Not where straps are only to be loosened. */
const OF_TROUBLE = { splint_gone: "pillow", white_blue_cold: "open_splint" };

/** The course's pictures of one purpose, of one exercise where it is named; older plans have none.
    @param {Course | null} course @param {string} purpose @param {string | null} exercise */
export const picturesOf = (course, purpose, exercise = null) => (course?.figures ?? []).filter((each) => each.purpose === purpose && (!exercise || each.exercise === exercise));

/** The key of the picture of an exercise, or null. */
export const keyOfExercise = (course, exercise) => picturesOf(course, "exercise", exercise)[0]?.key ?? null;

/** The key of the picture that goes with a trouble, or null. */
export const keyOfTrouble = (course, kind) => (OF_TROUBLE[kind] ? picturesOf(course, OF_TROUBLE[kind])[0]?.key ?? null : null);

/** The hashes of the drawings a kept plan has, as the question for a new one: they need not be sent again.
    @param {Plan | null} plan */
export function heldQuery(plan) {
  const hashes = (plan?.body.courses ?? []).flatMap((course) => (course.figures ?? []).filter((each) => each.svg).map((each) => each.hash));
  return hashes.length ? `?held=${[...new Set(hashes)].join(",")}` : "";
}

/** A new plan with the drawings it left out because the plan before has them. @param {PlanBody} body @param {Plan | null} before @returns {PlanBody} */
export function withHeld(body, before) {
  const kept = new Map((before?.body.courses ?? []).flatMap((course) => (course.figures ?? []).map((each) => [each.hash, each.svg])));
  const whole = (each) => (each.svg ? each : { ...each, svg: kept.get(each.hash) ?? null });
  return { ...body, courses: body.courses.map((course) => (course.figures ? { ...course, figures: course.figures.map(whole) } : course)) };
}
