/* Every screen by its name. */

import { release, sore, well, wellSaid } from "./asked.js";
import { amend, extra, fillIn } from "./amount.js";
import { check } from "./check.js";
import { count } from "./count.js";
import { days } from "./days.js";
import { before, closed, numbersOnly, recovered, revoked, waiting } from "./apart.js";
import { ALONE, first, setup } from "./first.js";
import { choose, hand } from "./hand.js";
import { language } from "./language.js";
import { menu, refused, unpairing } from "./menu.js";
import { now } from "./now.js";
import { pain } from "./pain.js";
import { pair } from "./pair.js";
import { plan } from "./plan.js";
import { fewer, prompts, quiet, suit, weekly } from "./quiet.js";
import { saved } from "./saved.js";
import { scan } from "./scan.js";
import { rests, stop } from "./stop.js";
import { asks, said, text, wrong } from "./wrong.js";

export const SCREENS = {
  ...ALONE, first, scan, setup,
  amend, asks, before, check, choose, closed, count, days, extra, fewer, fill: fillIn, hand, language, menu, now, numbers: numbersOnly,
  pain, pair, plan, prompts, quiet, recovered, refused, release, rests, revoked, said, saved, sore, stop, suit, text, unpair: unpairing, waiting, weekly, well, well_said: wellSaid, wrong,
};
