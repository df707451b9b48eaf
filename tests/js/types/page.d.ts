/* What the screens ask of elements they have made themselves. */
interface Element extends Pick<HTMLOrSVGElement, "focus" | "tabIndex" | "dataset"> { innerText: string; }
interface HTMLElement { value?: any; elements?: any; submit?(): void; }
