/** What is known of a hit and of the trim that is chosen, in words. */

import { seenMark } from "./dial.js";
import { el, refill, setText } from "./dom.js";
import { CAMERAS, offset, reaction, shows } from "./words.js";

/** The judgement of the chosen trim. */
export class Judgement {
  constructor(hit, detail) {
    this.hit = hit;
    this.detail = detail;
    this.seen = el("p", { class: "judged" });
    this.reasons = el("ul", { class: "reasons" });
    this.lag = el("p", { class: "lag" });
    this.sync = el("p", { class: "sync" });
    this.node = el(
      "div",
      { class: "judgement", role: "status" },
      this.seen,
      this.reasons,
      this.lag,
      this.sync,
    );
  }

  draw(trim) {
    refill(this.seen, ...this.verdict(trim));
    const words = trim === null ? this.untouched() : [...trim.vetoes, ...trim.reasons];
    refill(this.reasons, ...words.map((reason) => el("li", {}, sentence(reason))));
    setText(this.lag, this.lagWords(trim));
    setText(this.sync, trim === null ? "" : syncWords(trim));
  }

  verdict(trim) {
    if (trim === null) return [el("strong", {}, "As shot")];
    if (trim.vetoes.length > 0) return [seenMark("obvious"), el("strong", {}, "This must not go")];
    const much = ` (${trim.visibility.toFixed(2)}; from 1 on, a trained eye can tell)`;
    const text = el("span", {}, el("strong", {}, shows(trim)), el("span", { class: "much" }, much));
    return [seenMark(trim.verdict), text];
  }

  untouched() {
    return this.hit.no_trim === null ? [] : [`nothing is proposed: ${this.hit.no_trim}`];
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

/** What does not depend on the trim. */
export function hitFacts(hit, detail) {
  const rate = (hit.rate[0] / hit.rate[1]).toFixed(3).replace(/\.?0+$/, "");
  const rows = [
    ["Contact", `${hit.timecode ?? "no timecode"}, frame ${hit.contact}`],
    ["Clip", hit.clip],
    ["Picture", `${rate} frames a second, ${CAMERAS[hit.camera] ?? hit.camera}`],
    ["Strike", `${hit.speed.toFixed(2)} picture widths a second`],
    ["Sure that it is a hit", hit.by_hand ? `by hand, ${hit.by_hand}` : `${Math.round(hit.confidence * 100)} %`],
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

/** The numbers behind the dial, for those who read rather than look. */
export function motionTable(hit, detail) {
  const { strike, receiver, background } = detail.motion;
  const number = (speeds, index) => {
    const speed = speeds?.[index] ?? null;
    return speed === null ? "–" : speed.toFixed(2);
  };
  const rows = strike.map((_, index) =>
    el(
      "tr",
      {},
      el("th", { scope: "row" }, offset(hit.shown[0] + index, hit.contact)),
      el("td", {}, number(strike, index)),
      el("td", {}, number(receiver, index)),
      el("td", {}, number(background, index)),
    ),
  );
  const heads = ["From frame", "Strike", "Receiver", "Background"];
  return el(
    "details",
    { class: "numbers" },
    el("summary", {}, "Numbers behind the dial"),
    el(
      "div",
      { class: "table", tabindex: "0", role: "region", "aria-label": "Motion, frame by frame" },
      el(
        "table",
        {},
        el("caption", {}, "Picture widths a second, to the next frame"),
        el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
        el("tbody", {}, ...rows),
      ),
    ),
  );
}

/** What the marks of the dial mean. */
export function dialKey(motion) {
  const entry = (kind, text) => el("li", {}, el("span", { class: `mark ${kind}` }), text);
  return el(
    "ul",
    { class: "key" },
    entry("contact", "contact"),
    entry("strike", "strike"),
    motion.receiver ? entry("receiver", "receiver") : null,
    motion.background ? entry("background", "background") : null,
    entry("out", "taken out"),
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
