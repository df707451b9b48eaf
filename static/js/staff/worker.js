/* The worker of staff browsers: shows that an alert waits, opens it. It keeps no page and sees no request. */

const PLAIN = { title: "Homeprog: an alert is waiting", url: "/caseload" };

function told(event) {
  try {
    return { ...PLAIN, ...event.data.json() };
  } catch {
    return PLAIN;   // unreadable, and yet something must be shown, or the browser takes the right away
  }
}

/** A path of this house, whatever the message said. */
function here(url) {
  const wanted = new URL(url, self.location.origin);
  return wanted.origin === self.location.origin ? wanted.href : new URL(PLAIN.url, self.location.origin).href;
}

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("push", (event) => {
  const { title, url } = told(event);
  event.waitUntil(self.registration.showNotification(title, {
    tag: url, renotify: true, requireInteraction: true,
    icon: "/static/icons/mark-192.png", badge: "/static/icons/mark-192.png", data: { url: here(url) },
  }));
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow(event.notification.data?.url ?? here(PLAIN.url)));
});
