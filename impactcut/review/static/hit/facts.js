/** What is known of a hit and of the trim that is chosen, in words. */

import { el, refill, setText, tableOf } from "../base/dom.js";
import { CAMERAS, brief, doubtsOf, faster, offset, reaction, shows } from "../base/words.js";

/** The judgement of the chosen trim: who would see it, and behind "Why" the reasons and numbers. */
export class Judgement {
  constructor(hit, settings) {
    this.hit = hit;
    this.seen = el("strong", { class: "judged" });
    this.gain = el("span", { class: "gain" });
    this.doubts = el("span", { class: "doubts" });
    this.reasons = el("ul", { class: "reasons" });
    const why = el("details", { class: "why", open: settings.why }, el("summary", {}, "Why"), this.reasons);
    why.addEventListener("toggle", () => {
      settings.why = why.open;
    });
    this.node = el(
      "div",
      { class: "judgement" },
      el("p", { class: "verdict" }, this.seen, this.gain, this.doubts),
      why,
    );
  }

  draw(trim) {
    const { hit } = this;
    const barred = trim?.vetoes?.length > 0;
    setText(this.seen, trim === null ? "As shot" : barred ? "These frames must not go" : shows(trim));
    setText(this.gain, trim === null || barred ? "" : faster(trim.gain));
    setText(this.doubts, barred ? trim.vetoes.join("; ") : doubtWords(hit, trim));
    refill(this.reasons, ...this.words(trim).map((reason) => el("li", {}, sentence(reason))));
  }

  words(trim) {
    const { hit } = this;
    if (trim === null) return [...untouched(hit), this.lagWords(null)].filter(Boolean);
    const much = `visibility ${trim.visibility.toFixed(2)}; from 1 on, a trained eye can tell`;
    const told = [...(trim.vetoes ?? []), ...(trim.reasons ?? [])];
    const sync = trim.sync ? [this.lagWords(trim), syncWords(trim)] : [];
    return [...told, much, ...sync];
  }

  lagWords(trim) {
    const before = this.hit.lag;
    const text = `Receiver ${before === null ? "not seen to react" : reaction(before)}`;
    if (trim === null || before === null || trim.lag === null) return `${text}.`;
    return trim.lag.frames === before.frames
      ? `${text}, with this trim too.`
      : `${text}; with this trim, ${reaction(trim.lag)}.`;
  }
}

/** Why a person should look: uncertain and its reason first. */
function doubtWords(hit, trim) {
  if (trim === null) return untouched(hit, brief).join("; ");
  return doubtsOf(trim).join("; ");
}

function untouched(hit, told = (reason) => reason) {
  return hit.no_trim === null ? [] : [`nothing is proposed: ${told(hit.no_trim)}`];
}

/** What does not depend on the trim. */
export function hitFacts(hit, detail) {
  const rate = (hit.rate[0] / hit.rate[1]).toFixed(3).replace(/\.?0+$/, "");
  const rows = [
    ["Contact", `${hit.timecode ?? "no timecode"}, frame ${hit.contact}`],
    ["Clip", hit.clip],
    ["Picture", `${rate} frames a second, ${CAMERAS[hit.camera] ?? hit.camera}`],
    ["Strike", `${hit.speed.toFixed(2)} picture widths a second`],
    ["Confidence", hit.by_hand ? `by hand, ${hit.by_hand}` : `${Math.round(hit.confidence * 100)} %`],
  ];
  if (hit.slate) rows.push(["Slate", hit.slate]);
  if (hit.metres_per_second) rows.push(["Speed in the room", metres(hit.metres_per_second)]);
  if (hit.remarks.length > 0) rows.push(["To look at", sentence(hit.remarks.join("; "))]);
  for (const words of detail.elsewhere) rows.push(["Another take", sentence(words)]);
  if (detail.warnings.length > 0) rows.push(["The clip", detail.warnings.join("; ")]);
  return el(
    "dl",
    { class: "facts" },
    ...rows.flatMap(([name, text]) => [el("dt", {}, name), el("dd", {}, text)]),
  );
}

/** What moves around the contact, in numbers. */
export function motionTable(hit, detail) {
  const { strike, receiver, background } = detail.motion;
  const number = (speeds, index) => {
    const speed = speeds?.[index] ?? null;
    return speed === null ? "–" : speed.toFixed(2);
  };
  const rows = strike.map((_, index) => [
    offset(hit.shown[0] + index, hit.contact),
    ...[strike, receiver, background].map((speeds) => number(speeds, index)),
  ]);
  const heads = ["From frame", "Strike", "Receiver", "Background"];
  return el(
    "details",
    { class: "numbers" },
    el("summary", {}, "Motion in numbers"),
    el(
      "div",
      { class: "table", tabindex: "0", role: "region", "aria-label": "Motion, frame by frame" },
      tableOf(heads, rows, "Picture widths a second, to the next frame"),
    ),
  );
}

function metres({ likely, low, high }) {
  const [most, from, to] = [likely, low, high].map((speed) => speed.toFixed(0));
  return `about ${most} m/s (${from} to ${to}), a rough estimate from the picture`;
}

function syncWords(trim) {
  const { ms, words } = trim.sync;
  return `Production sound that is not cut along shifts by ${ms} ms: ${words}.`;
}

function sentence(text) {
  return text[0].toUpperCase() + text.slice(1);
}
