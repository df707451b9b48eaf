/* Whether this page may show reminders. */

/** What this phone can do: "granted", "denied", "default" or "unsupported". */
export function permission() {
  const able = "Notification" in globalThis && "serviceWorker" in navigator && "PushManager" in globalThis;
  return able ? Notification.permission : "unsupported";
}
