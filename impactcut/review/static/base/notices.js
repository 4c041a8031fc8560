/** Things a person must be told, which stay until they are put away. */

import { el, pushButton } from "./dom.js";

const MOST = 5;

export class Notices {
  /** @param {HTMLElement} node */
  constructor(node) {
    this.node = node;
  }

  /**
   * Tells something.
   * @param {string} text
   * @param {{text: string, act: () => void} | null} offer what can be done about it
   */
  warn(text, offer = null) {
    for (const old of this.node.children) {
      if (old.firstElementChild?.textContent === text) old.remove();
    }
    const notice = el(
      "div",
      { class: "notice", role: "alert" },
      el("p", {}, text),
      offer && pushButton(offer.text, offer.act),
      pushButton("Got it", () => this.drop(notice)),
    );
    this.node.append(notice);
    while (this.node.children.length > MOST) this.drop(this.node.firstElementChild);
    return notice;
  }

  /** Puts one away, and the focus that was in it where keys mean what they mean. */
  drop(notice) {
    const focused = notice?.contains(document.activeElement);
    notice?.remove();
    if (focused) document.querySelector("h1")?.focus();
  }
}
