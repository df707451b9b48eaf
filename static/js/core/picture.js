/* What a drawing sent with the plan may hold: lines, words and their own movement, nothing that runs or fetches. */

const SHAPES = new Set(["svg", "g", "defs", "title", "desc", "path", "line", "polyline", "polygon", "circle", "ellipse", "rect", "text", "tspan", "marker", "clipPath", "animate", "animateTransform"]);
const RUNS = /^on|href$|^(style|src|xml:base)$/i;
const FETCHES = /url\(\s*['"]?(?!#)|javascript:/i;

/** Whether a drawing, an element with its attributes and children, is made of harmless parts only.
    @param {Drawn} element @returns {boolean} */
export function harmless(element) {
  const own = SHAPES.has(element.localName) && [...element.attributes].every(({ name, value }) => !RUNS.test(name) && !FETCHES.test(value));
  return own && [...element.children].every(harmless);
}

/* Which picture goes with a trouble: how to lay the arm, or the splint opened with the arm left on it. Not where straps are only to be loosened. */
/** @type {Record<string, string | undefined>} */
const OF_TROUBLE = { splint_gone: "pillow", white_blue_cold: "open_splint" };

/** The course's pictures of one purpose, of one exercise where it is named; older plans have none.
    @param {Course | null} course @param {string} purpose @param {string | null} exercise */
export const picturesOf = (course, purpose, exercise = null) => (course?.figures ?? []).filter((each) => each.purpose === purpose && (!exercise || each.exercise === exercise));

/** The key of the picture of an exercise, or null.
    @param {Course | null} course @param {string} exercise */
export const keyOfExercise = (course, exercise) => picturesOf(course, "exercise", exercise)[0]?.key ?? null;

/** The key of the picture that goes with a trouble, or null.
    @param {Course | null} course @param {string} kind */
export const keyOfTrouble = (course, kind) => picturesOf(course, OF_TROUBLE[kind] ?? "")[0]?.key ?? null;
