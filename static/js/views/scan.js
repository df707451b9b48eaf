/* The square code, read with the camera where the browser itself can; nothing is sent but its secret. */

import { secretOf } from "../core/code.js";
import { say } from "../core/words.js";
import { button, h, speak } from "./dom.js";
import { heading } from "./frame.js";

const LOOK_MS = 300;

/** Whether this browser reads such codes. */
export const canScan = () => "BarcodeDetector" in globalThis && Boolean(navigator.mediaDevices?.getUserMedia);

let stream = null;

function end() {
  for (const track of stream?.getTracks() ?? []) track.stop();
  stream = null;
}

/** @param {App} app @param {any} given */
export function scan(app, { why = null } = {}) {
  const video = h("video", { class: "scan", muted: true, playsinline: true, "aria-label": say("scan.how") });
  if (!why) watch(app, video);
  return {
    title: say("scan.title"),
    main: [heading(say("scan.title")), why ? h("p", { class: "wrong", role: "alert" }, say(why)) : h("p", {}, say("scan.how")), h("p", { id: "scanned", class: "until" }), why ? null : video].filter(Boolean),
    acts: [button("alt", say("pair.type_instead"), () => app.go("pair", {}, { replace: true }))],
    actsKind: "low",
    leave: end,
    hidden: end,
  };
}

async function watch(app, video) {
  try {
    const mine = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    if (!video.isConnected) return mine.getTracks().forEach((track) => track.stop());
    stream = mine;
    video.srcObject = mine;
    await video.play();
    const Detector = /** @type {any} */ (globalThis).BarcodeDetector;
    return look(app, video, new Detector({ formats: ["qr_code"] }));
  } catch {
    if (video.isConnected) app.show("scan", { why: "scan.no_camera" });
    return null;
  }
}

async function look(app, video, detector) {
  while (stream && video.isConnected) {
    const found = await detector.detect(video).catch(() => []);
    const secret = found.map((each) => secretOf(each.rawValue, location.origin)).find(Boolean);
    if (secret && stream) {
      app.secret = secret;
      return app.go("pair", {}, { replace: true });
    }
    if (found.length) other();
    await new Promise((wake) => setTimeout(wake, LOOK_MS));
  }
  return null;
}

function other() {
  const line = document.querySelector("#scanned");
  if (!line || line.textContent) return;
  line.textContent = say("scan.other");
  speak(say("scan.other"));
}
