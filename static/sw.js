/* The phone's worker: listeners only. It lives at /phone/sw.js. */

import { fill, kept, sweep } from "/static/js/sw/cache.js";
import { openApp, report, show } from "/static/js/sw/push.js";
import { meet } from "/static/js/net/flush.js";
import { tell as changed } from "/static/js/store/word.js";

self.addEventListener("install", (event) => event.waitUntil(fill()));

self.addEventListener("activate", (event) => event.waitUntil(sweep().then(() => self.clients.claim())));

self.addEventListener("message", (event) => {
  if (event.data?.kind === "take over") event.waitUntil(self.skipWaiting());
});

self.addEventListener("fetch", (event) => {
  const answer = kept(event.request);
  if (answer) event.respondWith(answer);
});

self.addEventListener("push", (event) => {
  event.waitUntil(show(event, self.registration).then((send) => report(send, "shown")).then(changed));
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const { url = "/phone/", send = null } = event.notification.data ?? {};
  event.waitUntil(Promise.all([openApp(self.clients, url), report(send, "tapped").then(changed)]));
});

self.addEventListener("sync", (event) => event.waitUntil(meet("worker").then(changed)));
