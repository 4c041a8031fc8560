/**
 * The dial: a moment bent into a ring, because it is played as one.
 *
 * The contact is at the top and time runs clockwise; the gap at the bottom is the rest between two
 * rounds. Bars outside the ring are the strike's speed, lines the receiver's and the background's.
 * Frames taken out drop into the ring.
 */

import { svg, refill } from "./dom.js";

const TURN = 312;
const RING = 92;
const THICK = 7;
const DROP = 15;
const FOOT = 106;
const TALL = 44;
const WIDE = 320;
const MIDDLE = 155;
const HIGH = 268;

/** Where frames lie on the ring, in degrees clockwise from the top. */
export function ringScale([first, count], contact) {
  const reach = Math.max(contact - first, first + count - 1 - contact, 1) + 0.5;
  const step = TURN / 2 / reach;
  return { step, angle: (frame) => (frame - contact) * step };
}

/** The bare ring with the frames taken out, as it lies around a small picture. */
export function smallRing(shown, contact, trim) {
  const scale = ringScale(shown, contact);
  const end = scale.angle(shown[0] + shown[1] - 0.5);
  const begin = scale.angle(shown[0] - 0.5);
  const pieces = [];
  if (trim === null) {
    pieces.push(svg("path", { class: "kept", d: arc(46, begin, end) }));
  } else {
    const from = scale.angle(trim.first - 0.5);
    const to = scale.angle(trim.first + trim.count - 0.5);
    pieces.push(
      svg("path", { class: "kept", d: arc(46, begin, from) }),
      svg("path", { class: "kept", d: arc(46, to, end) }),
      svg("path", { class: "out", d: arc(41, from + 0.8, to - 0.8) }),
    );
  }
  return svg("svg", { class: "ring", viewBox: "-50 -50 100 100", "aria-hidden": "true" }, ...pieces);
}

const FILLED = { clean: 0, "frame-step": 0.25, attentive: 0.6, obvious: 1 };

/** A disc that is filled as far as a splice shows, by verdict. */
export function seenMark(verdict) {
  const part = FILLED[verdict];
  const angle = part * 360;
  const fill =
    part >= 1
      ? svg("circle", { r: 7, class: "fill" })
      : svg("path", { class: "fill", d: part > 0 ? `M0 0 ${arc(7, 0, angle, "L")} Z` : "" });
  return svg(
    "svg",
    { class: "seen", viewBox: "-9 -9 18 18", "aria-hidden": "true" },
    svg("circle", { r: 7, class: "rim" }),
    fill,
  );
}

/** The dial of an opened hit. `chosen` is called with a frame that is pointed at. */
export class Dial {
  constructor(hit, detail, chosen) {
    this.hit = hit;
    this.scale = ringScale(hit.shown, hit.contact);
    this.ticks = svg("g", { class: "ticks" });
    this.wedge = svg("g", { class: "wedge" });
    this.bead = svg("circle", { class: "bead", r: 5 });
    this.gain = svg("text", { class: "gain", y: 2 });
    this.under = svg("text", { class: "under", y: 24 });
    this.node = svg(
      "svg",
      { class: "dial", viewBox: `${-WIDE / 2} ${-MIDDLE} ${WIDE} ${HIGH}`, role: "img" },
      this.wedge,
      motionMarks(detail.motion, hit, this.scale),
      this.ticks,
      this.landmarks(detail),
      this.bead,
      this.gain,
      this.under,
    );
    this.node.addEventListener("click", (event) => {
      const frame = this.frameAt(event);
      if (frame !== null) chosen(frame);
    });
  }

  /** Marks the frames taken out, and says in the middle what that gains. */
  show(trim, gain, under, label) {
    const [first, count] = this.hit.shown;
    const out = (frame) => trim !== null && frame >= trim.first && frame < trim.first + trim.count;
    const marks = [];
    for (let frame = first; frame < first + count; frame += 1) {
      const from = this.scale.angle(frame - 0.38);
      const to = this.scale.angle(frame + 0.38);
      const radius = out(frame) ? RING - DROP : RING;
      const kind = out(frame) ? "out" : frame === this.hit.contact ? "struck" : "kept";
      marks.push(svg("path", { class: kind, d: arc(radius, from, to), "stroke-width": THICK }));
    }
    refill(this.ticks, ...marks);
    refill(this.wedge, ...(trim === null ? [] : this.wedgeOf(trim)));
    this.gain.textContent = gain;
    this.under.textContent = under;
    this.node.setAttribute("aria-label", label);
  }

  /** Moves the bead to a frame. */
  moveTo(frame) {
    const [x, y] = at(RING, this.scale.angle(frame));
    this.bead.setAttribute("cx", x);
    this.bead.setAttribute("cy", y);
  }

  wedgeOf(trim) {
    const from = this.scale.angle(trim.first - 0.5);
    const to = this.scale.angle(trim.first + trim.count - 0.5);
    const outer = FOOT + TALL;
    const inner = RING - DROP - THICK;
    const side = (angle) => {
      const [x1, y1] = at(inner, angle);
      const [x2, y2] = at(outer, angle);
      return svg("line", { x1, y1, x2, y2 });
    };
    const shape = `${arc(inner, from, to)} ${arc(outer, to, from, "L")} Z`;
    return [svg("path", { d: shape }), side(from), side(to)];
  }

  landmarks(detail) {
    const words = [["contact", this.hit.contact]];
    const [first, count] = this.hit.shown;
    const { reaction } = detail;
    if (reaction !== null && reaction > this.hit.contact && reaction < first + count) {
      words.push(["reacts", reaction]);
    }
    return svg(
      "g",
      { class: "landmarks" },
      ...words.map(([kind, frame]) => {
        const [x, y] = at(RING - 9, this.scale.angle(frame));
        const turn = this.scale.angle(frame) + 180;
        return svg("path", {
          class: kind,
          d: "M0 -6 L5 4 L-5 4 Z",
          transform: `translate(${x} ${y}) rotate(${turn + 180})`,
        });
      }),
    );
  }

  frameAt(event) {
    const box = this.node.getBoundingClientRect();
    const x = event.clientX - box.left - box.width / 2;
    const y = event.clientY - box.top - (box.height * MIDDLE) / HIGH;
    if (Math.hypot(x, y) < box.width * 0.2) return null;
    const angle = (Math.atan2(x, -y) * 180) / Math.PI;
    const frame = this.hit.contact + Math.round(angle / this.scale.step);
    const [first, count] = this.hit.shown;
    return frame >= first && frame < first + count ? frame : null;
  }
}

function motionMarks(motion, hit, scale) {
  const [first] = hit.shown;
  const all = [motion.strike, motion.receiver, motion.background].flatMap((speeds) => speeds ?? []);
  const most = Math.max(...all.filter((speed) => speed !== null), 1e-6);
  const height = (speed) => (speed / most) * TALL;
  const bars = motion.strike.map((speed, index) => {
    if (speed === null) return null;
    const angle = scale.angle(first + index + 0.5);
    const [x1, y1] = at(FOOT, angle);
    const [x2, y2] = at(FOOT + Math.max(1, height(speed)), angle);
    return svg("line", { x1, y1, x2, y2, "stroke-width": Math.min(6, scale.step * 1.1) });
  });
  return svg(
    "g",
    { class: "motion" },
    svg("g", { class: "strike" }, ...bars.filter(Boolean)),
    line("background", motion.background, first, scale, height),
    line("receiver", motion.receiver, first, scale, height),
  );
}

function line(kind, speeds, first, scale, height) {
  if (speeds === null) return null;
  let path = "";
  speeds.forEach((speed, index) => {
    if (speed === null) return;
    const [x, y] = at(FOOT + height(speed), scale.angle(first + index + 0.5));
    path += `${path ? "L" : "M"}${x} ${y} `;
  });
  return svg("path", { class: kind, d: path });
}

/** An arc about the middle, from one angle to another, either way round. */
function arc(radius, from, to, begin = "M") {
  const [x1, y1] = at(radius, from);
  const [x2, y2] = at(radius, to);
  const large = Math.abs(to - from) > 180 ? 1 : 0;
  return `${begin}${x1} ${y1} A${radius} ${radius} 0 ${large} ${to > from ? 1 : 0} ${x2} ${y2}`;
}

function at(radius, angle) {
  const turn = (angle * Math.PI) / 180;
  return [round(radius * Math.sin(turn)), round(-radius * Math.cos(turn))];
}

function round(length) {
  return Math.round(length * 100) / 100;
}
