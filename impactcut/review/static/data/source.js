/**
 * Where the page's data come from: the program that serves it, or the file it stands in.
 *
 * Data are as `impactcut/review/views.py` makes them; frames are those of the clip.
 * @typedef {{frames: number, ms: number}} Lag
 * @typedef {{general: number, red: number, tooMany: boolean}} Flashes of a moment's worst second as
 *   it plays over and over, measured before it plays: opposing changes of light, and to and from red
 * @typedef {{first: number, count: number, gain: number, visibility: number, verdict: string,
 *   shows: string, uncertain: boolean, flagged: boolean, doubts: string[]}} ShortTrim
 * @typedef {ShortTrim & {where: string, reasons: string[], vetoes: string[], lag: Lag | null,
 *   sync: {ms: number, early: boolean, late: boolean}}} Trim
 * @typedef {{answer: string, first: number | null, count: number | null, who: string, when: string,
 *   note: string, note_who: string}} Decision
 * @typedef {{decision: Decision | null, version: string}} Decided
 * @typedef {Decided & {id: number, name: string, clip: string, digest: string, section: string,
 *   take: string, angle: string, slate: string, circled: boolean, camera: string,
 *   contact: number, timecode: string | null, rate: [number, number], shape: [number, number],
 *   shown: [number, number], strip: [number, number], confidence: number, by_hand: string | null,
 *   speed: number, lag: Lag | null, weak: boolean, late: boolean, early: boolean,
 *   proposed: ShortTrim | null, approved: ShortTrim | null, no_trim: string | null,
 *   trims?: Trim[]}} Hit
 * @typedef {{project: string, key: string, made: string, edition: string, judging: string,
 *   hits: Hit[], clips?: Clip[]}} Review
 * @typedef {{id: number, name: string, digest: string, frames: number, rate: [number, number],
 *   shape: [number, number]}} Clip
 * @typedef {{strike: (number | null)[], receiver: (number | null)[] | null,
 *   background: (number | null)[] | null}} Motion
 * @typedef {{id: number, onset: number, settle: number, reaction: number | null, trims: Trim[],
 *   best: Record<string, number>, sound: boolean, warnings: string[], elsewhere: string[],
 *   timecodes: (string | null)[], motion: Motion}} Detail
 * @typedef {{fate: string, reason: string, unseen: Decision | null} & Decided} Told
 * @typedef {object} Source
 * @property {boolean} served
 * @property {() => Promise<Review>} review
 * @property {() => Promise<object[]>} beats
 * @property {(hit: number) => Promise<Detail>} detail
 * @property {(hit: number) => Promise<ArrayBuffer>} pictures
 * @property {(hit: number, kind: string) => Promise<ArrayBuffer | null>} sound
 * @property {(hit: number) => Promise<string>} strip address of the pictures of a splice strip
 * @property {(hit: number) => Promise<ArrayBuffer>} [large] pictures at their own size
 * @property {(hits: number[]) => Promise<void>} [ahead]
 * @property {(hit: number) => boolean} [isAhead] whether pictures were asked for already
 *
 * What only a program that serves the page can do.
 * @typedef {object} Serving
 * @property {string} base
 * @property {(path: string) => void} moveTo
 * @property {() => Promise<{edition: string, decisions: Record<string, Decided>}>} decisions
 * @property {(clip: number, first: number) => Promise<ArrayBuffer>} clip
 * @property {(tap: object) => Promise<object>} tap
 * @property {(answer: object) => Promise<Told>} send
 */

const ANSWER_WITHIN = 15000;
const LOAD_WITHIN = 60000;

/** An answer that says no, with the status and the words that it came with. */
export class Refusal extends Error {
  /**
   * @param {number} status
   * @param {string} message
   */
  constructor(status, message) {
    super(message);
    this.status = status;
  }
}

/**
 * The source of this page.
 * @returns {Source}
 */
export function openSource() {
  return document.documentElement.dataset.form === "file" ? fileSource() : servedSource();
}

/** @returns {Source} */
function fileSource() {
  const text = (id) => document.getElementById(id)?.textContent ?? null;
  const held = async (id) => {
    const content = text(id);
    if (content === null) throw new Refusal(404, "this page does not hold that");
    return content;
  };
  const json = async (id) => JSON.parse(await held(id));
  const bytes = async (id) => unpacked(await held(id));
  return {
    served: false,
    review: () => json("review"),
    beats: () => json("beats"),
    detail: (hit) => json(`hit-${hit}`),
    pictures: (hit) => bytes(`pictures-${hit}`),
    sound: async (hit, kind) => (text(`${kind}-${hit}`) === null ? null : bytes(`${kind}-${hit}`)),
    strip: async (hit) => `data:image/webp;base64,${text(`strip-${hit}`)?.trim()}`,
  };
}

/** @returns {Source & Serving} */
function servedSource() {
  let base = new URL(".", window.location.href).pathname;
  const ask = async (path, options = {}, within = LOAD_WITHIN) =>
    answered(
      await fetch(base + path, {
        credentials: "omit",
        signal: AbortSignal.timeout(within),
        ...options,
      }),
    );
  const get = async (path, within = LOAD_WITHIN) => (await ask(path, {}, within)).json();
  const post = async (path, value, within) => {
    const headers = { "Content-Type": "application/json" };
    return (await ask(path, { method: "POST", headers, body: JSON.stringify(value) }, within)).json();
  };
  // Answers and words go before pictures where the browser has to choose.
  const bulk = async (path) => (await ask(path, { priority: "low" })).arrayBuffer();
  return {
    served: true,
    get base() {
      return base;
    },
    /** Follows a new run of the program, whose addresses begin otherwise. */
    moveTo(path) {
      base = path;
    },
    review: () => get("api/review"),
    /** What is decided by now, and the edition of the hits. */
    decisions: () => get("api/decisions", ANSWER_WITHIN),
    detail: (hit) => get(`api/hits/${hit}`),
    pictures: (hit) => bulk(`api/hits/${hit}/pictures`),
    sound: (hit, kind) => bulk(`api/hits/${hit}/${kind}`),
    strip: async (hit) => URL.createObjectURL(await (await ask(`api/hits/${hit}/strip`, { priority: "low" })).blob()),
    large: (hit) => bulk(`api/hits/${hit}/large`),
    beats: () => get("api/beats"),
    clip: (clip, first) => bulk(`api/clips/${clip}/${first}`),
    tap: (tap) => post("api/taps", tap, LOAD_WITHIN),
    send: (answer) => post("api/answers", answer, ANSWER_WITHIN),
  };
}

async function answered(response) {
  if (response.ok) return response;
  const text = await response.text();
  let message = text.trim() || `the program answered ${response.status}`;
  try {
    message = JSON.parse(text).error ?? message;
  } catch {
    // Plain text says it as it is.
  }
  throw new Refusal(response.status, message);
}

function unpacked(base64) {
  const binary = atob(base64.trim());
  const bytes = new Uint8Array(binary.length);
  for (let index = 0; index < binary.length; index += 1) bytes[index] = binary.charCodeAt(index);
  return bytes.buffer;
}
