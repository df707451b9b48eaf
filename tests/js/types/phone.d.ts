/* What the phone holds and says, for the type check alone. The plan is as homeprog/services/phone_plan.py makes it. */

type Json = Record<string, any>;
type Unit = "times" | "minutes";
type Sign = "logged" | "part" | "later" | "not_logged" | "unknown" | "excused" | "ahead";

/** One window in which a dose is due, half-open; instants are ISO 8601 in UTC. */
interface Slot {
  exercise: string; start: string; end: string; day: string; number: number;
  amount: number; unit: Unit; standing: Sign; credited: number; muted?: boolean; asks_pain?: boolean;
}

interface Exercise {
  key: string; name: string; steps: string[]; amount: number; unit: Unit; leading: boolean; rehearsal?: boolean; held?: boolean;
}

interface Phase {
  key: string; name: string; caution_version: string; cautions: string[]; splint: string; wear: string[]; forbidden: string[];
  carry_on: string; wearing: Wearing | null; later: string[];
}

/** When the splint is on, and when it may come off. */
interface Wearing { by_day: boolean; by_night: boolean; outdoors: boolean; comes_off: string[]; }

interface Question { key: string; label: string; help: string | null; answers: string[]; on_no: OnNo | null; }
interface OnNo { ask?: "off"; trouble?: string; text?: string; }
interface Check { day: string; from: string; until: string; answered: boolean; questions: Question[]; }

/** What is said besides 'no': about how long the splint was off, why, and whether it is off now and will not go back. */
interface Details { off_hours?: string; off_why?: string; off_now?: boolean; }

/** What the answers of a check lead to. */
interface Led { troubles: string[]; texts: string[]; textsOf: string[]; offers: string[]; list: boolean; }

interface PainRule { red_flag_at: number; yesterday: number | null; rise: number; rise_floor: number; }
interface HandQuestion { id: string; hand: string; finger: string; splint: string | null; }
interface ReleaseQuestion { id: string; phase: string | null; from: string; }
interface ServerStop { since: string; kind: string; lines: string[]; }
interface Seen { report: string; kind: string; by: string; at: string; ring_by: string; }

interface Course {
  id: string; state: "unconfirmed" | "confirmed" | "closed"; hand: string | null; finger: string | null;
  working_side: "left" | "right"; hand_question: HandQuestion | null; stop: ServerStop | null;
  troubles?: Trouble[]; seen?: Seen[]; phase: Phase | null; exercises: Exercise[];
  day: { number: number; words: string } | null; next_visit: { date: string; words: string } | null;
  release_question: ReleaseQuestion | null; slots: Slot[]; days: { date: string; number: number }[]; checks?: Check[];
  pain?: Partial<PainRule> & { ask: boolean };
  figures?: Figure[];
}

/** An element of a drawing, as far as it is looked at. */
interface Drawn { localName: string; attributes: Iterable<{ name: string; value: string }>; children: Iterable<Drawn>; }

/** A picture of the prescription; `svg` null where the plan before has the drawing of that hash. */
interface Figure {
  key: string; purpose: string; exercise: string | null; digits: string[]; title: string; description: string; svg: string | null; hash: string;
}

interface Ask { key: string; label: string; options: { value: string; label: string }[]; }
interface Trouble {
  kind: string; label: string; stop: boolean; emergency: boolean; mistake_allowed: boolean; text: string; asks: Ask[];
}

interface Ring { from: string; to: string; label: string; tel: string; read_words: string | null; }
interface SignedText { title: string; lines: string[]; }
interface Rules {
  done_share: number; timely_minutes: number; fill_in_hours: number; enough_times_dose: number; take_back_minutes: number;
  no_contact_hours: number; pain_red_flag_at: number; pain_rise: number; pain_rise_floor: number; pain_each_bout: boolean;
  quiet_longest_hours: number; silence_waking_hours: number;
}

/** A wish for quiet, in force by the plan; what is quiet for a while says until when. */
type Wish = WishBase & ({ kind: "in_15_minutes"; until: string } | { kind: "until"; until: string } | { kind: "weekly" | "fewer"; until?: string | null });
interface WishBase {
  id: string; weekday?: number | null; opens?: string | null; closes?: string | null; fewer?: Fewer | null;
}
type Fewer = "every_second" | "four_a_day";

/** The body of a plan. */
interface PlanBody {
  version: string; csrf: string | null; server_time: string; zone: string; language: string; demo: boolean;
  words: string | null; languages_offered?: { code: string; name: string }[]; clinic: { name: string }; push: { key: string | null }; ring: Ring[]; emergency: { label: string; tel: string } | null;
  rules?: Partial<Rules>; texts: Record<string, SignedText | undefined>; troubles: Trouble[]; quiet?: Wish[]; courses: Course[];
  closed: { words: string; ring: Ring[] | Ring } | null; device?: { id: string; whose: Whose; courses: string[]; since?: string };
}

/** A plan as it is kept: `seq` orders it among acknowledgements, `at` and `changed` are ms of the device's clock. */
interface Plan { body: PlanBody; seq: number; at: number; changed: number; }

type Whose = "patient" | "carer";
interface Device { id: string; csrf: string | null; whose: Whose; }

/** What each item has; instants by the device's clock, `offset_ms` the server's clock less the device's. */
interface ItemBase { id: string; course: string; entered_at: string; offset_ms: number; zone: string; }
interface BoutBase extends ItemBase {
  type: "bout"; exercise: string; amount: number; unit: Unit; how: How; pain: number | null; pain_asked: boolean;
  plan_version: string | null; supersedes: string | null; logged_by: Whose;
}
/** When it was done: at an instant, or filled in for a slot, which names none. */
type Done = { slot_start: null; done_at: string } | { slot_start: string; done_at: null };
type BoutItem = BoutBase & Done;
type How = "paced" | "counted" | "one_tap" | "later";
interface CheckItem extends ItemBase { type: "daily_check"; day: string; answers: Answers; details: Details; average_pain: number | null; }
interface TroubleItem extends ItemBase { type: "trouble"; kind: string; details: TroubleDetails; }
interface TakenBackItem extends ItemBase { type: "taken_back"; trouble: string; }
interface HandItem extends ItemBase { type: "hand_answer"; question: string; answer: "yes" | "no"; }
interface ReleaseItem extends ItemBase { type: "release_answer"; release: string; answer: "nothing" | "something"; }
interface WellItem extends ItemBase { type: "all_well"; asked: string; answer: WellAnswer | null; pain: number | null; }
type WellAnswer = "busy" | "sore" | "phone" | "something_wrong";
interface QuietItem extends ItemBase, WishSaid { type: "quiet"; }
interface ReadItem extends ItemBase { type: "read"; what: "cautions"; phase: string; plan_version: string | null; }
interface ZoneItem extends ItemBase { type: "zone_said"; }
type Item = BoutItem | CheckItem | TroubleItem | TakenBackItem | HandItem | ReleaseItem | WellItem | QuietItem | ReadItem | ZoneItem;

type Answers = Record<string, string>;
interface CheckSaid { answers: Answers; details: Details; average_pain?: number | null; }

/** What goes with a report: what was asked on, or which check told it. */
type TroubleDetails = Record<string, string | boolean | undefined>;

/** A wish for quiet, or the end of one: each kind has fields of its own. */
interface WishSaid {
  kind: Wish["kind"] | "end"; until?: string; weekday?: number; opens?: string; closes?: string; fewer?: Fewer; ends?: string;
}

/** What was refused: kept and shown. */
interface Why { code: string; message: string; }
/** An entry waits to be sent; `unsaved`: only in this page's memory, because the phone's disk took it not. */
interface Entry { item: Item; refused?: Why; unsaved?: boolean; }

/** An entry of another patient, with what would be shown of it. */
interface Apart { entry: Entry; bout: Bout | null; report: TroubleReport | null; }
interface Held { outbox: Entry[]; bouts: Bout[]; reports: TroubleReport[]; apart: Apart[]; }
interface Sent { sent: number; ok: boolean; }

/** One go, before it is an item; `done_at` in ms of the device's clock. */
interface Go {
  exercise: string; amount: number; unit: Unit; how: How; pain?: number | null; pain_asked?: boolean; done_at?: number | null;
  slot_start?: string | null; supersedes?: string;
}

/** A bout as the phone keeps it; `acked_seq` is null until the server's word. */
type Bout = BoutItem & { acked_seq: number | null };

/** A report of trouble, or the 'no' to 'Is this your hand?', as the phone keeps it. */
interface TroubleReport {
  id: string; course: string; kind: string; at: string; offset_ms: number; stops: boolean; question: string | null;
  acked_seq: number | null; taken_back: boolean; back_acked_seq?: number | null;
}

interface Well { id: string; day: string | null; at: number; answer: WellAnswer | null; }
interface Release { release: string; answer: string; item: string; acked_seq: number | null; }

/** All the phone knows; `plan` tells the two apart. */
type State = WithPlan | WithoutPlan;
interface WithPlan extends Kept { plan: Plan; }
interface WithoutPlan extends Kept { plan: null; }

/** What is kept of a patient, besides what was entered. */
interface Theirs {
  device: Device | null; plan: Plan | null; ended: "device_revoked" | "device_replaced" | "not_paired" | null; push: string | null;
  hands: Record<string, { question: string; answer: string } | undefined>; reads: Record<string, string>; checked: string[];
  quiet: { id: string; kind: string; from: string; until: string } | null; opened: Record<string, { at: number; pain: number } | undefined> | null;
  releases: Record<string, Release | undefined>; wells: Record<string, Well | undefined>; contact: number | null; said: { zone?: string };
  ways: Ways; words: Words | null; first: First | null; calendar: { mark: string; last: string } | null; calendar_now: string | null;
}

/** What is kept by its key: `seq` orders acknowledgements and plans. */
interface Phone extends Theirs { offset_ms: number; seq: number; }

interface Kept extends Omit<Theirs, "plan"> { offset_ms: number; outbox: Entry[]; bouts: Bout[]; reports: TroubleReport[]; }

/** Ways of the patient on this phone: large writing, no voice while counting, no sound of reminders in the open app. */
interface Ways { big?: boolean; mute?: boolean; ring?: boolean; }

/** A phrase with {holes}, or one for each plural form of `n`. */
type Phrase = string | Record<string, string>;
type Phrases = Record<string, Phrase>;
interface Holes { n?: number; [hole: string]: unknown; }

/** The words of one language that the clinic signed off. */
interface Words { version: string; language: string; phrases: Phrases; }

/** What the steps of the first minutes are held against. `push`: reminders are on; `calendar`: one is in force. */
interface FirstFacts {
  carer: boolean; languages: number; plan: boolean; installed: boolean; able: boolean; push: boolean; calendar: boolean;
}

/** What decides how this phone is reminded. */
type Reminded = Pick<Kept, "push" | "calendar" | "ways"> & Partial<Pick<Kept, "calendar_now">>;

/** What is left of the first minutes on this phone; `on`: they lead until they are done or left. */
interface First { left: string[]; on: boolean; page?: number; }

/** What the rules of a day are held against. */
interface Log { bouts: Bout[]; seq: number; rules: Rules; linked?: number; }

interface Context { offset_ms: number; zone: string; plan_version: string | null; logged_by: Whose; }

/** What decides which screen is home, besides the state. */
interface At { now: number; online: boolean; putOff: Set<string>; allWell(course: Course): boolean; first?(): boolean; }

/** The server's word of each item. */
interface Result { id: string; result: "stored" | "already" | "refused"; code?: string | null; message?: string | null; }
interface Settled { gone: string[]; refused: { id: string; code: string; message: string }[]; }

/** What a transaction's work comes to: a function is asked once all is on disk. */
type Last<T> = T extends () => infer R ? R : T;

/** The stores by name, within one transaction. */
type Stores = Record<"kept" | "outbox" | "bouts" | "reports" | "apart", IDBObjectStore>;

/** What a screen is. `live`: drawn anew when the state changes; `yields`: a stop takes its place. */
interface View {
  title: string; main: any; acts?: any; actsKind?: string; live?: boolean; yields?: boolean;
  leave?(to: string): void; hidden?(): any; tap?(): any; offers?: any;
}

interface Draft { at: number; course: string; made: string; tasks: Json[]; goes: Go[]; done: number; how: How; watch?: any; pace?: any; }

/** The stage: the state, and which screen is shown. */
interface App {
  state: State; shown: { name: string; args: any }; view: View; chosen: string | null; held: string | null; draft: Draft | null;
  pacing: { slow: boolean } | null; putOff: Set<string>; hasWorker: boolean; secret: string | null;
  now(): number; zone(): string; rules(): Rules; log(): Log; at(): At; language(): string; course(): Course | null;
  reload(): Promise<void>; redraw(): Promise<void>; go(name: string, args?: any, how?: { replace?: boolean; course?: string | null }): void; home(): void;
  show(name: string, args?: any, how?: { quietly?: boolean }): void; meet(how?: Meet): Promise<void>; entered(): Promise<void>; notSaved(): void;
}

/** What core/gate.js grants: a screen that is not one of these has a plan, one of a course has that course too. What is
    asked later is asked of the state as it is then: a screen is left before its plan is. tests/js/types/screens.ts holds each view to it. */
type Planless = "pair" | "scan" | "numbers" | "revoked" | "waiting";
type OfCourse = "amend" | "asks" | "check" | "count" | "extra" | "fill" | "pain" | "pictures" | "release" | "saved" | "sore" | "text" | "well" | "wrong";
type HomeOfCourse = "first" | "hand" | "now" | "rests" | "stop";

interface PlanApp extends App { get state(): WithPlan; set state(state: State); }
interface CourseApp extends PlanApp { course(): Course; }
interface HandApp extends CourseApp { course(): Course & { hand_question: HandQuestion }; }
interface ReleaseApp extends CourseApp { course(): Course & { release_question: ReleaseQuestion }; }

interface Meet { stale?: boolean; timed?: boolean; }

/* What the browsers have and TypeScript's lists have not. */
interface ServiceWorkerRegistration { readonly sync?: { register(tag: string): Promise<void> }; }
