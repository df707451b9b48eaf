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

/** A notification as homeprog/services/dispatch_prompts.py has it sent, and where a tap on it leads. */
interface Note { title: string; body: string; navigate: string; tag: string; silent: boolean; data: { send?: string; expires_at?: string; kind?: string }; }

/** A push: a browser that knows declarative push has read it already. */
interface Pushed { data: { json(): any } | null; notification?: any; }

/** What shows notifications, and what opens windows: as much of it as is asked for. */
interface Shower { getNotifications(): Promise<{ close(): void }[]>; showNotification(title: string, options: NotificationOptions): Promise<void>; }
interface Opener {
  matchAll(options: { type: "window"; includeUncontrolled: true }): Promise<readonly { url: string; postMessage(told: unknown): void; focus(): unknown }[]>;
  openWindow(url: string): Promise<unknown>;
}
