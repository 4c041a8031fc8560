/**
 * The splice strip: a hit's frames in a row, those that go out lifted above it, and what is left
 * closed up below them. Lengths are in slots, one for each frame; the rule is that of
 * impactcut/core/trims/strip.py.
 */

import { el, refill } from "../base/dom.js";

const SIDE = 0.94;
const LIFTED = 0.58;
const ROW = 0.74;
const SMALL = 7;
const DRAG = 6;

/** Where each of `count` frames from `first` lies; `trim` goes out, null for nothing. */
export function layStrip([first, count], trim) {
  const gap = (1 - SIDE) / 2;
  const half = trim === null ? 0 : trim.count / 2;
  const cells = Array.from({ length: count }, (_, slot) => {
    const frame = first + slot;
    if (trim === null) return { frame, left: slot + gap, top: ROW, side: SIDE, kind: "kept" };
    if (frame >= trim.first && frame < trim.first + trim.count) {
      return { frame, left: slot + (1 - LIFTED) / 2, top: 0, side: LIFTED, kind: "out" };
    }
    const aside = half + gap;
    const left = slot + gap + (frame < trim.first ? aside : -aside);
    const meets = frame === trim.first - 1 || frame === trim.first + trim.count;
    return { frame, left, top: ROW, side: SIDE, kind: meets ? "meets" : "kept" };
  });
  return { cells, seam: trim === null ? null : trim.first - first + half };
}

/** The part of a whole strip that a small one shows. */
export function smallPart([first, count], contact, trim) {
  const wished = trim === null ? contact - Math.floor(SMALL / 2) : Math.min(trim.first - 2, contact);
  const start = Math.max(first, Math.min(wished, first + count - SMALL));
  return [start, Math.min(first + count, start + SMALL) - start];
}

/** A strip that only shows. */
export class Strip {
  /**
   * @param {any} hit
   * @param {Promise<string>} sheet address of the strip's pictures, side by side, once they are there
   * @param {boolean} small whether only the frames around the trim are shown
   */
  constructor(hit, sheet, small) {
    this.hit = hit;
    this.small = small;
    /** @type {HTMLElement[]} */
    this.cells = [];
    this.node = el("span", {
      class: small ? "strip small" : "strip",
      css: { "--all": String(hit.strip[1]) },
    });
    sheet.then(
      (address) => this.node.style.setProperty("--sheet", `url("${address}")`),
      () => this.node.append(el("span", { class: "lost" }, "The pictures cannot be read")),
    );
    this.shown = [0, 0];
    this.join = el("span", { class: "join" });
    this.stem = el("span", { class: "stem" });
  }

  show(trim) {
    const { strip, contact } = this.hit;
    const shown = this.small ? smallPart(strip, contact, trim) : strip;
    if (shown[0] !== this.shown[0] || shown[1] !== this.shown[1]) this.build(shown);
    const { cells, seam } = layStrip(shown, trim);
    cells.forEach((cell, index) => {
      const node = this.cells[index];
      node.dataset.kind = cell.kind;
      for (const name of ["left", "top", "side"]) node.style.setProperty(`--${name}`, String(cell[name]));
    });
    this.node.dataset.cut = String(trim !== null);
    this.node.style.setProperty("--seam", String(seam ?? shown[1] / 2));
  }

  build(shown) {
    const [first, count] = shown;
    this.shown = shown;
    this.node.style.setProperty("--slots", String(count));
    this.cells = Array.from({ length: count }, (_, slot) => this.cell(first + slot));
    refill(this.node, ...this.cells, this.join, this.stem);
  }

  cell(frame) {
    const { strip, contact } = this.hit;
    const away = frame - contact;
    const name = away === 0 ? "contact" : away < 0 ? `−${-away}` : `+${away}`;
    return el(
      "span",
      {
        class: "cell",
        "data-frame": String(frame),
        "data-contact": away === 0,
        css: { "--at": String(frame - strip[0]) },
      },
      this.small ? null : el("span", { class: "cell-name" }, name),
    );
  }
}

/** A strip in which the gap is moved by hand: dragged, or frame by frame. */
export class OpenStrip extends Strip {
  /** `act` has `slide(first)` and `lift(frame)`. */
  constructor(hit, sheet, act) {
    super(hit, sheet, false);
    this.act = act;
    /** @type {any} */
    this.trim = null;
    /** @type {HTMLElement | undefined} */
    this.now = undefined;
    this.node.setAttribute("role", "img");
    this.node.addEventListener("pointerdown", (event) => this.take(event));
  }

  show(trim, words = "") {
    super.show(trim);
    this.trim = trim;
    this.node.setAttribute("aria-label", words);
  }

  /** Marks the frame that is on the screen. */
  moveTo(frame) {
    this.now?.removeAttribute("data-now");
    this.now = this.cells[frame - this.shown[0]];
    this.now?.setAttribute("data-now", "");
  }

  take(down) {
    if (down.button !== 0) return;
    const { node } = this;
    let dragged = false;
    const move = (event) => {
      dragged ||= Math.abs(event.clientX - down.clientX) > DRAG;
      if (dragged && this.trim) this.act.slide(Math.round(this.slotAt(event) - this.trim.count / 2));
    };
    const end = (event) => {
      node.removeEventListener("pointermove", move);
      if (!dragged && event.type === "pointerup") {
        this.act.lift(Number(down.target.closest(".cell")?.dataset.frame ?? NaN));
      }
    };
    node.setPointerCapture(down.pointerId);
    node.addEventListener("pointermove", move);
    node.addEventListener("pointerup", end, { once: true });
    node.addEventListener("pointercancel", end, { once: true });
  }

  /** Frame, with a fraction, that stood above or below the pointer before anything was lifted. */
  slotAt(event) {
    const box = this.node.getBoundingClientRect();
    return this.shown[0] + ((event.clientX - box.left) / box.width) * this.shown[1];
  }
}
