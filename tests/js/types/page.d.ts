/* What the screens ask of elements they have made themselves. */
interface Element extends Pick<HTMLOrSVGElement, "focus" | "tabIndex" | "dataset"> { innerText: string; }
interface HTMLElement { value?: any; }

/* What templates/phone/shell.html has; and every page has its main part, which views/frame.js puts in every screen too. */
interface Document {
  getElementById(id: "phone" | "spoken"): HTMLElement;
  querySelector(selector: "main"): HTMLElement;
  querySelector(selector: string): Element | null;
}
