/* A tap on a reminder leads to the app. */

/** Bring the open app forward or open it. */
export async function openApp(clients, url) {
  const open = await clients.matchAll({ type: "window", includeUncontrolled: true });
  const app = open.find((client) => new URL(client.url).pathname === "/phone/");
  if (!app) return clients.openWindow(url);
  app.postMessage({ kind: "tapped", url });
  return app.focus();
}
