/** The beat board: beats as rows, takes as columns, so that a take is chosen and judged at once. */

import { choiceMenu, el, refill, tableOf, told } from "../base/dom.js";
import { Cards } from "./card.js";
import { isHit, placeNames } from "./filters.js";

export class Board {
  constructor(review, book, source) {
    this.book = book;
    this.source = source;
    this.cards = new Cards(book, source);
    this.beats = null;
    this.angle = null;
    this.place = el("div", { class: "board", tabindex: "0", role: "region", "aria-label": "Beats and takes" });
    const angles = placeNames(review.hits, "angle").filter(Boolean);
    const menu = choiceMenu(
      [["", "All angles"], ...angles.map((name) => [name, `Angle ${name}`])],
      "",
      (angle) => {
        this.angle = angle || null;
        this.draw();
      },
    );
    this.heading = el("h1", { tabindex: "-1" }, "Beats");
    this.node = el(
      "section",
      { class: "overview" },
      this.heading,
      el("label", { class: "menu" }, el("span", {}, "Show"), menu),
      this.place,
    );
  }

  /** Takes are compared anew, as what was answered meanwhile changes which is best. */
  async open() {
    if (this.beats === null) refill(this.place, el("p", {}, "Comparing the takes …"));
    else this.draw();
    try {
      const beats = await this.source.beats();
      const known = JSON.stringify(this.beats) === JSON.stringify(beats);
      this.beats = beats;
      if (!known) this.draw();
    } catch (error) {
      refill(this.place, el("p", {}, `The takes cannot be compared: ${told(error)}`));
    }
  }

  draw() {
    const shown = this.beats
      .map((beat) => ({ ...beat, hits: beat.hits.filter(({ id }) => this.isShown(id)) }))
      .filter(({ hits }) => hits.length > 0);
    if (shown.length === 0) {
      refill(this.place, el("p", { class: "nothing" }, "No beats are known: 'impactcut shots' says which section each clip belongs to."));
      return;
    }
    const takes = placeNames(shown.flatMap(({ hits }) => hits.map(({ id }) => this.book.hit(id))), "take");
    const heads = takes.map((take) => (take ? `Take ${take}` : "Take not known"));
    const focused = /** @type {HTMLElement} */ (document.activeElement);
    const held = this.place.contains(focused);
    refill(this.place, tableOf(["Beat", ...heads], shown.map((beat) => this.row(beat, takes))));
    if (held) (this.place.contains(focused) ? focused : this.heading).focus({ preventScroll: true });
  }

  isShown(id) {
    const hit = this.book.hits.get(id);
    return hit && isHit(this.book.decisionOf(id)) && (this.angle === null || hit.angle === this.angle);
  }

  row({ section, number, hits }, takes) {
    const cells = takes.map((take) => {
      const here = hits.filter(({ id }) => this.book.hit(id).take === take);
      return here.map((each) => this.cell(each, each === hits[0] && hits.length > 1));
    });
    return [`${section}.${number}`, ...cells];
  }

  cell({ id, place, reason }, best) {
    const words = place === 1 ? "Best: " : "Best of those shown: ";
    const why = el("p", { class: "why-best" }, best ? el("strong", {}, words) : null, reason);
    return el("div", { class: best ? "cell-beat best" : "cell-beat" }, this.cards.of(id), why);
  }
}
