/** Contacts tapped along with the picture: kept, brought to the program, and taken back. */

import { told } from "../base/dom.js";
import { isFinal } from "./loading.js";

const TAP = "tap:";
const AGAIN = 5000;

/** @typedef {{clip: string, digest: string, frame: number, who: string, when: string}} Tap */

export class Taps {
  /** `told` is called with what came of each. */
  constructor(source, store, told) {
    this.source = source;
    this.store = store;
    this.told = told;
    this.taken = [];
    this.busy = false;
    if (source.served) this.pump();
  }

  /** Keeps a tap; false if the browser kept nothing. */
  give({ clip, digest }, frame, who) {
    const when = new Date().toISOString().replace(/\.\d+Z$/, "Z");
    const name = `${TAP}${Date.now()}-${frame}`;
    const kept = this.store.write(name, { clip, digest, frame, who, when });
    if (this.source.served) this.pump();
    else this.taken.push(name);
    return kept;
  }

  /** @returns {Tap[]} those that no program has taken, in order */
  pending() {
    return this.names().map((name) => this.store.read(name)).filter(Boolean);
  }

  names() {
    return this.store.names(TAP).sort();
  }

  /** Takes the last tap of this page back; null where there is none, else why it could not be. */
  async undo(who) {
    const last = this.taken.pop();
    if (last === undefined) return null;
    if (!this.source.served) {
      this.store.remove(last);
      return "";
    }
    const { reason } = await this.source.tap({ back: last, who });
    return reason;
  }

  async pump() {
    if (this.busy) return;
    this.busy = true;
    try {
      for (let [name] = this.names(); name; [name] = this.names()) await this.bring(name);
    } catch {
      setTimeout(() => this.pump(), AGAIN);
    } finally {
      this.busy = false;
    }
  }

  async bring(name) {
    const tap = this.store.read(name);
    /** @type {any} */
    let reply;
    try {
      reply = await this.source.tap(tap);
    } catch (error) {
      if (!isFinal(error)) throw error;
      reply = { hit: null, act: null, reason: told(error) };
    }
    this.store.remove(name);
    if (reply.act !== null) this.taken.push(reply.act);
    this.told(tap, reply);
  }
}
