/**
 * What is decided about each hit, as this page knows it: what the project says, and on top of it
 * the answers given here that the project has not taken yet. Those lie in the browser's store, one
 * entry each, so that neither a closed lid nor a second tab loses any.
 */

import { openStore } from "../base/store.js";

/**
 * An answer that the project has not taken yet.
 * @typedef {{id: string, tab: string, at: number, after: string | null, hit: number, clip: string,
 *   digest: string, contact: number, answer: string, first: number | null, count: number | null,
 *   note: string, who: string, when: string, seen: string}} Entry
 * @typedef {import("./source.js").Decision} Decision
 * @typedef {import("./source.js").Decided} Decided
 */

const ENTRY = "answer:";
const MOST_UNDONE = 100;

export class AnswerBook {
  /**
   * @param {import("./source.js").Review} review as the source gives it
   * @param {import("../base/store.js").Store} store from `openStore`
   * @param {{onePerHit: boolean, lead: number}} options `onePerHit` keeps the last answer only;
   *   `lead` is by how many milliseconds the project's clock is ahead of this one
   */
  constructor(review, store, { onePerHit, lead }) {
    this.store = store;
    this.onePerHit = onePerHit;
    this.lead = lead;
    this.hits = new Map(review.hits.map((hit) => [hit.id, hit]));
    /** @type {Map<number, Decided>} */
    this.known = new Map();
    this.ours = openStore("tab", "sessionStorage");
    this.undoName = `undo:${window.location.pathname}`;
    this.tab = this.ours.read("name") ?? newId();
    this.ours.write("name", this.tab);
    /** @type {Set<(id: number | null) => void>} */
    this.listeners = new Set();
    /** @type {Entry[] | null} */
    this.entries = null;
    this.refresh(
      Object.fromEntries(
        review.hits.map(({ id, decision, version }) => [id, { decision, version }]),
      ),
    );
    store.watch((name) => {
      if (name !== "" && !name.startsWith(ENTRY)) return;
      this.entries = null;
      this.tell(null);
    });
  }

  /** Calls back with a hit's number, or null for all of them, when something has changed. */
  listen(listener) {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /**
   * Takes what the project says now, by hit number.
   * @param {Record<string, Decided>} decisions
   */
  refresh(decisions) {
    for (const [id, said] of Object.entries(decisions)) {
      const before = this.known.get(Number(id));
      this.known.set(Number(id), said);
      if (before && before.version !== said.version) this.tell(Number(id));
    }
  }

  /**
   * The decision about a hit, and whether it is still on its way to the project.
   * @param {number} id
   * @returns {{decision: Decision | null, waiting: boolean}}
   */
  stateOf(id) {
    const stands = this.known.get(id)?.decision ?? null;
    const waiting = this.pending(id).pop();
    if (!waiting) return { decision: stands, waiting: false };
    return { decision: asDecision(waiting, stands), waiting: !this.onePerHit };
  }

  decisionOf(id) {
    return this.stateOf(id).decision;
  }

  /**
   * Answers not yet taken, oldest first.
   * @param {number | null} id of a hit, for those about it
   * @returns {Entry[]}
   */
  pending(id = null) {
    const entries = (this.entries ??= this.store
      .names(ENTRY)
      .map((name) => this.readEntry(name))
      .filter((entry) => entry !== null)
      .sort((one, other) => one.at - other.at || (one.id < other.id ? -1 : 1)));
    return id === null ? [...entries] : entries.filter((entry) => entry.hit === id);
  }

  /** An entry of the store; what is none, and so can never be answered for, is taken out of it. */
  readEntry(name) {
    const entry = this.store.read(name);
    const isEntry = name === ENTRY + entry?.id && Number.isFinite(entry.at) && Number.isFinite(entry.hit);
    if (!isEntry) this.store.remove(name);
    return isEntry ? entry : null;
  }

  /**
   * A hit of the page.
   * @param {number} id
   */
  hit(id) {
    const hit = this.hits.get(id);
    if (!hit) throw new Error(`there is no hit ${id} on this page`);
    return hit;
  }

  /** Answers; `said` holds answer, first, count and note. False if the browser kept nothing. */
  give(id, said, who) {
    const before = this.decisionOf(id);
    const kept = this.put(id, said, who);
    const { name, clip, digest, contact } = this.hit(id);
    const of = { name, clip, digest, contact };
    if (kept) this.rememberUndo({ at: Date.now(), hit: id, of, before, gave: this.decisionOf(id) });
    return kept;
  }

  /**
   * Puts back what was before the last answer given in this tab, in the name of whoever does so.
   * The hit and its name, though the page may no longer hold it, and whether it was undone: what
   * somebody else has answered since stays. Null for none.
   */
  undo(who) {
    const undone = this.undone();
    const last = undone.pop();
    if (!last) return null;
    this.ours.write(this.undoName, undone);
    const { hit, of, before, gave } = last;
    const { name } = of;
    if (!sameAnswer(gave, this.decisionOf(hit))) return { hit, name, done: false };
    const said = before ?? { answer: "cleared", first: null, count: null, note: "" };
    if (this.onePerHit && sameDecision(before, this.known.get(hit)?.decision)) this.drop(hit);
    else this.put(hit, said, who, of);
    this.tell(hit);
    return { hit, name, done: true };
  }

  canUndo() {
    return this.undone().length > 0;
  }

  /** When the last answer was given that can be taken back, by this browser's clock; 0 for none. */
  get lastAt() {
    return this.undone().pop()?.at ?? 0;
  }

  /** The project has taken an answer, or says what stands instead. */
  settle(entry, told) {
    this.remove(entry);
    this.known.set(entry.hit, { decision: told.decision, version: told.version });
    for (const later of this.pending(entry.hit)) {
      if (later.after === entry.id) {
        this.write({ ...later, seen: told.version, after: null });
      }
    }
    this.tell(entry.hit);
  }

  /** The project cannot take an answer: it is set aside, and shown no more as given. */
  refuse(entry) {
    this.remove(entry);
    this.tell(entry.hit);
  }

  put(id, said, who, hit = this.hit(id)) {
    const earlier = this.pending(id);
    const last = earlier[earlier.length - 1] ?? null;
    if (this.onePerHit) earlier.forEach((each) => this.remove(each));
    const at = Math.max(Date.now() + this.lead, last ? last.at + 1 : 0);
    const entry = {
      id: newId(),
      tab: this.tab,
      at,
      after: this.onePerHit ? null : (last?.id ?? null),
      hit: id,
      clip: hit.clip,
      digest: hit.digest,
      contact: hit.contact,
      answer: said.answer,
      first: said.answer === "approved" ? said.first : null,
      count: said.answer === "approved" ? said.count : null,
      note: whole(said.note ?? ""),
      who: whole(who),
      when: new Date(at).toISOString().replace(/\.\d+Z$/, "Z"),
      seen: this.known.get(id)?.version ?? "",
    };
    const kept = this.write(entry);
    this.tell(id);
    return kept;
  }

  drop(id) {
    for (const entry of this.pending(id)) this.remove(entry);
  }

  write(entry) {
    this.entries = null;
    return this.store.write(ENTRY + entry.id, entry);
  }

  remove(entry) {
    this.entries = null;
    this.store.remove(ENTRY + entry.id);
  }

  /** The answers given in this tab, which can be taken back. */
  undone() {
    return this.ours.read(this.undoName) ?? [];
  }

  rememberUndo(step) {
    this.ours.write(this.undoName, [...this.undone(), step].slice(-MOST_UNDONE));
  }

  tell(id) {
    for (const listener of this.listeners) listener(id);
  }
}

/**
 * An entry as the program reads it.
 * @param {Entry} entry
 */
export function asGiven(entry) {
  const { hit, clip, digest, contact, answer, first, count, who, when, note, seen } = entry;
  return { hit, clip, digest, contact, answer, first, count, who, when, note, seen };
}

/** An entry as the decision that it will be, beside the one that stands; a note keeps its author. */
function asDecision(entry, stands) {
  if (entry.answer === "cleared") return null;
  const { answer, first, count, who, when, note } = entry;
  const author = stands && stands.note === note ? stands.note_who : who;
  return { answer, first, count, who, when, note, note_who: note ? author : "" };
}

/** Whether two decisions say the same, by the same person; notes apart. */
function sameAnswer(one, other) {
  const told = (decision) =>
    decision && [decision.answer, decision.first, decision.count, decision.who];
  return JSON.stringify(told(one)) === JSON.stringify(told(other));
}

/** Text without halves of characters, which no file of text can hold. */
function whole(text) {
  return text.replace(/\p{Surrogate}/gu, "\ufffd");
}

function sameDecision(one, other) {
  return JSON.stringify(one) === JSON.stringify(other);
}

function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
