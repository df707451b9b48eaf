/* "Tell me on this device": asks for the right, subscribes, and sends the form with the address. */

const form = /** @type {HTMLFormElement | null} */ (document.getElementById("tell"));   // not there where the house has no keys
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

/** @param {any} given the form's data */
async function subscribe({ worker, key }) {
  const registration = await running(await navigator.serviceWorker.register(worker, { scope: SCOPE }));
  const old = await registration.pushManager.getSubscription();
  if (old && base64url(old.options.applicationServerKey) !== key) await old.unsubscribe();
  return registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: octets(key) });
}

/** @param {HTMLFormElement} form @param {HTMLElement} said */
async function tell(form, said) {
  if (await Notification.requestPermission() !== "granted") {
    said.textContent = "This browser does not let Homeprog show notices. Allow them in its settings, or use e-mail.";
    return;
  }
  try {
    const { endpoint, keys } = (await subscribe(form.dataset)).toJSON();
    if (!keys) throw new TypeError("A subscription without keys.");
    const fields = /** @type {any} */ (form.elements);
    fields.endpoint.value = endpoint;
    fields.p256dh.value = keys.p256dh;
    fields.auth.value = keys.auth;
    form.submit();
  } catch (error) {
    said.textContent = `This device could not be added (${error.name}). Nothing was changed; use e-mail, or try again.`;
  }
}

if (form && said && "serviceWorker" in navigator && "PushManager" in window && "Notification" in window) {
  for (const each of form.querySelectorAll("button")) each.disabled = false;
  said.textContent = "The browser will ask whether Homeprog may show notices.";
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    tell(form, said);
  });
}
