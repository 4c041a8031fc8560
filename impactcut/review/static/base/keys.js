/** Keys for everything, and the panel that lists them. */

import { el, pushButton, refill } from "./dom.js";

const LETTERS = "letters";

/**
 * What each key does in an opened hit, in the order of the panel: an act, with what it is done by;
 * and with `up`, once the key is released.
 */
export const KEYS = [
  { keys: ["a"], shown: "A", act: "answer", by: "approved", text: "Approve what is chosen" },
  { keys: ["d"], shown: "D", act: "answer", by: "declined", text: "As shot: nothing goes out" },
  { keys: ["l"], shown: "L", act: "answer", by: "later", text: "Later" },
  { keys: ["x"], shown: "X", act: "answer", by: "not-a-hit", text: "Not a hit: the finder was wrong" },
  { keys: ["u"], shown: "U", act: "undo", text: "Take back the last answer or tap" },
  { keys: ["n"], shown: "N", act: "write", text: "Write a note" },
  { keys: ["Shift+ArrowLeft"], shown: "Shift ←", act: "nudge", by: -1, text: "Gap one frame earlier" },
  { keys: ["Shift+ArrowRight"], shown: "Shift →", act: "nudge", by: 1, text: "Gap one frame later" },
  { keys: ["+", "="], shown: "+", act: "resize", by: 1, text: "Gap wider by a frame" },
  { keys: ["-"], shown: "−", act: "resize", by: -1, text: "Gap narrower by a frame" },
  { keys: ["1"], shown: "1", act: "count", by: 1, text: "1 frame out, where it is best" },
  { keys: ["2"], shown: "2", act: "count", by: 2, text: "2 frames out, where they are best" },
  { keys: ["3"], shown: "3", act: "count", by: 3, text: "3 frames out, where they are best" },
  { keys: ["0"], shown: "0", act: "count", by: 0, text: "Nothing out" },
  { keys: ["p"], shown: "P", act: "reset", text: "As proposed" },
  { keys: ["b"], shown: "B", act: "hold", by: true, up: false, text: "Hold to compare: as shot against trimmed" },
  { keys: ["r"], shown: "R", act: "alternate", text: "In turn, trimmed only, as shot only" },
  { keys: [" "], shown: "Space", act: "toggle", text: "Play or pause" },
  { keys: ["ArrowLeft"], shown: "←", act: "step", by: -1, text: "One frame back" },
  { keys: ["ArrowRight"], shown: "→", act: "step", by: 1, text: "One frame on" },
  { keys: ["c"], shown: "C", act: "contact", text: "Go to the contact frame" },
  { keys: ["s"], shown: "S", act: "slower", text: "Full, half, quarter speed" },
  { keys: ["h"], shown: "H", act: "sound", text: "Sound on or off" },
  { keys: ["f"], shown: "F", act: "screening", text: "Screening: the picture fills the screen" },
  { keys: ["t"], shown: "T", act: "tap", text: "Tap: there is a hit here that was not found" },
  { keys: ["ArrowDown", "PageDown"], shown: "↓", act: "go", by: 1, text: "Next hit" },
  { keys: ["ArrowUp", "PageUp"], shown: "↑", act: "go", by: -1, text: "Previous hit" },
  { keys: ["o"], shown: "O", act: "goOpen", text: "Next undecided hit" },
  { keys: ["Escape"], shown: "Esc", act: "leave", text: "Leave the note, the screening, or the hit" },
];

/** What goes on as long as its key is held; all else is done once, however long a finger rests. */
const REPEATED = ["step", "nudge", "go"];

const ANYWHERE = [{ keys: ["?"], shown: "?", act: "help", text: "This panel" }];

/** Hands keys on as acts. Single letters can be switched off, for those who speak to type. */
export class Keys {
  constructor(store, acts) {
    this.store = store;
    this.acts = acts;
    document.addEventListener("keydown", (event) => this.pressed(event));
    document.addEventListener("keyup", (event) => this.released(event));
    window.addEventListener("blur", () => this.acts("hold", false));
    document.addEventListener("mousedown", (event) => keepKeys(event));
  }

  get lettersOn() {
    return this.store.read(LETTERS) !== false;
  }

  setLetters(on) {
    this.store.write(LETTERS, on);
  }

  pressed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    const name = keyName(event);
    if (isWritten(event.target) && name !== "Escape") return;
    if (document.querySelector("dialog[open]")) return;
    if (takesKey(event.target, event.key)) return;
    if (event.key.length === 1 && event.key !== " " && !this.lettersOn && event.key !== "?") return;
    const found = [...KEYS, ...ANYWHERE].find(({ keys }) => keys.includes(name));
    if (event.repeat && found && !REPEATED.includes(found.act)) event.preventDefault();
    else if (found && this.acts(found.act, found.by)) event.preventDefault();
  }

  released(event) {
    const found = KEYS.find((key) => "up" in key && key.keys.includes(event.key.toLowerCase()));
    if (found) this.acts(found.act, found.up);
  }
}

/** A click leaves the focus where keys mean what they always mean, unless it is into a field. */
function keepKeys(event) {
  const { target } = event;
  if (!(target instanceof Element) || target.closest("dialog") || isWritten(target)) return;
  if (target.closest("button, summary, .strip")) event.preventDefault();
  const { activeElement } = document;
  if (activeElement !== document.body) document.querySelector("h1")?.focus({ preventScroll: true });
}

/** Shows the panel of keys. */
export function openHelp(dialog, keys) {
  const letters = el("input", { type: "checkbox", id: "letters" });
  letters.checked = keys.lettersOn;
  letters.addEventListener("change", () => keys.setLetters(letters.checked));
  const rows = [...KEYS, ...ANYWHERE].map(({ shown, text }) =>
    el("div", {}, el("dt", {}, el("kbd", {}, shown)), el("dd", {}, text)),
  );
  refill(
    dialog,
    el("h2", { id: "help-title", tabindex: "-1", autofocus: true }, "Keys"),
    el("p", {}, "Where all hits are shown, the arrow keys go from hit to hit, Enter opens one, and A, D, L and X answer it there."),
    el("dl", { class: "keys" }, ...rows),
    el("p", {}, el("label", { for: "letters" }, letters, " Use single letters and digits as keys")),
    pushButton("Close", () => dialog.close()),
  );
  dialog.showModal();
}

function keyName(event) {
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  return event.shiftKey && key.startsWith("Arrow") ? `Shift+${key}` : key;
}

function isWritten(target) {
  return target instanceof Element && target.closest("textarea, select, input[type=text]") !== null;
}

/** Whether the element in focus needs the key for itself. */
function takesKey(target, key) {
  if (!(target instanceof Element)) return false;
  if (key === " ") return target.closest("button, a, summary, input") !== null;
  if (!key.startsWith("Arrow")) return false;
  return target.closest(".table, .card") !== null;
}
