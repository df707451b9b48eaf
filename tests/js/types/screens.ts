/* Each view asks no more than the gate grants it (see Planless and OfCourse in phone.d.ts). */

import type { SCREENS } from "../../../static/js/views/screens.js";

type Screens = typeof SCREENS;
type Granted<Name> = Name extends Planless ? App : Name extends "hand" ? HandApp : Name extends "release" ? ReleaseApp : Name extends OfCourse | HomeOfCourse ? CourseApp : PlanApp;
type TooMuch = { [Name in keyof Screens]: Granted<Name> extends Parameters<Screens[Name]>[0] ? never : Name }[keyof Screens];
type None<Names extends never> = Names;

export type AskNoMore = None<TooMuch>;
export type AreScreens = None<Exclude<Planless | OfCourse | HomeOfCourse, keyof Screens>>;
