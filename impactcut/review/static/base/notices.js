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
    const notice = el(
      "div",
      { class: "notice", role: "alert" },
      el("p", {}, text),
      offer && pushButton(offer.text, offer.act),
      pushButton("Got it", () => notice.remove()),
    );
    this.node.append(notice);
    while (this.node.children.length > MOST) this.node.firstElementChild?.remove();
  }
}
