/* "Tell me on this device": asks for the right, subscribes, and sends the form with the address. */

const form = document.getElementById("tell");
const said = document.getElementById("said");
const SCOPE = new URL("./", new URL(form?.dataset.worker ?? "", location.href)).pathname;   // its own, not the phone's

const octets = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
const base64url = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");

/** Resolves once the worker runs: a page outside its scope cannot wait for `ready`. */
function running(registration) {
  const worker = registration.installing ?? registration.waiting ?? registration.active;
  return new Promise((resolve) => {
    const look = () => worker.state === "activated" && resolve(registration);
    worker.addEventListener("statechange", look);
    look();
  });
}

async function subscribe() {
  const registration = await running(await navigator.serviceWorker.register(form.dataset.worker, { scope: SCOPE }));
  const key = octets(form.dataset.key);
  const old = await registration.pushManager.getSubscription();
  if (old && base64url(old.options.applicationServerKey) !== form.dataset.key) await old.unsubscribe();
  return registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key });
}

async function tell(event) {
  event.preventDefault();
  if (await Notification.requestPermission() !== "granted") {
    said.textContent = "This browser does not let Homeprog show notices. Allow them in its settings, or use e-mail.";
    return;
  }
  try {
    const { endpoint, keys } = (await subscribe()).toJSON();
    form.elements.endpoint.value = endpoint;
    form.elements.p256dh.value = keys.p256dh;
    form.elements.auth.value = keys.auth;
    form.submit();
  } catch (error) {
    said.textContent = `This device could not be added (${error.name}). Nothing was changed; use e-mail, or try again.`;
  }
}

if (form && "serviceWorker" in navigator && "PushManager" in window && "Notification" in window) {
  form.querySelector("button").disabled = false;
  said.textContent = "The browser will ask whether Homeprog may show notices.";
  form.addEventListener("submit", tell);
}
