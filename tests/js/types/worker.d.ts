/* Both workers are service workers: what their scope has besides a worker's. */

interface WorkerGlobalScope {
  skipWaiting(): Promise<void>;
  readonly clients: Clients;
  readonly registration: ServiceWorkerRegistration;
}

interface WorkerGlobalScopeEventMap {
  install: ExtendableEvent;
  activate: ExtendableEvent;
  fetch: FetchEvent;
  push: PushEvent;
  notificationclick: NotificationEvent;
  sync: ExtendableEvent;
  message: any;
}

interface NotificationOptions { renotify?: boolean; }
