/** All hits at a glance; the browser lays out and loads only those that are near the window. */

import { choiceMenu, el, pushButton, refill, setPressed, setText } from "../base/dom.js";
import { counted } from "../base/words.js";
import { Cards } from "./card.js";
import {
  FILTERS, ORDERS, PLACES, chosenHits, isHit, isOpen, placeNames, usefulFilters,
} from "./filters.js";

const SHOWN = "shown";
const EVERYTHING = { on: [], section: null, take: null, angle: null, order: "fight" };
const DENIED = "Left out of every list. Later asks again, and approve or as shot makes one a hit again.";
const NONE = "There are no hits to judge. 'impactcut scan' looks for them in footage; 'impactcut hits' lists those it has found.";

export class Overview {
  /** @param {import("../data/source.js").Review} review */
  constructor(review, book, source, store) {
    this.hits = review.hits;
    this.book = book;
    this.store = store;
    this.cards = new Cards(book, source);
    this.wanted = { ...EVERYTHING, ...known(store.read(SHOWN), review.hits, this.useful()) };
    this.count = el("p", { class: "count", role: "status" });
    this.list = el("div", { class: "groups" });
    this.chips = Object.entries(FILTERS).map(([name, { label }]) => this.chip(name, label));
    this.heading = el("h1", { id: "overview-title", tabindex: "-1" }, review.project);
    this.node = el(
      "section",
      { class: "overview", "aria-labelledby": "overview-title" },
      this.heading,
      this.count,
      el(
        "div",
        { class: "choose", hidden: this.hits.length === 0 },
        el("div", { class: "chips", role: "group", "aria-label": "Show only" }, ...this.chips),
        ...Object.keys(PLACES).map((kind) => this.placeMenu(kind)),
        this.menu("Sort", Object.entries(ORDERS).map(([name, { label }]) => [name, label]),
          this.wanted.order, (order) => this.choose({ order })),
      ),
      this.list,
      el("p", { class: "judging" }, review.judging),
    );
    this.node.addEventListener("keydown", (event) => this.walk(event));
    book.listen(() => this.changed());
    this.draw();
  }

  /** The filters that can leave something now. */
  useful() {
    return usefulFilters(this.hits, (hit) => this.book.decisionOf(hit.id));
  }

  /** The hits shown now, in order. */
  order() {
    return chosenHits(this.hits, this.wanted, (hit) => this.book.decisionOf(hit.id));
  }

  draw() {
    const shown = this.order();
    for (const chip of this.chips) setPressed(chip, this.wanted.on.includes(chip.dataset.name));
    refill(this.list, ...this.groups(shown));
    this.tell(shown.length);
  }

  /** Says how many are shown and left, and offers the filters that can leave something. */
  tell(shown) {
    const decisions = this.hits.map((hit) => this.book.decisionOf(hit.id));
    const open = decisions.filter(isOpen).length;
    const all = decisions.filter(isHit).length;
    const none = decisions.length - all;
    const which = shown === all || this.showsDenied ? counted(all, "hit") : `${shown} of ${counted(all, "hit")} shown`;
    setText(this.count, `${which}, ${open} undecided${none > 0 ? `, ${none} not a hit` : ""}`);
    const useful = this.useful();
    for (const chip of this.chips) {
      const { name } = chip.dataset;
      const needless = !useful.includes(name) && !this.wanted.on.includes(name);
      if (needless && chip === document.activeElement) this.heading.focus();
      chip.hidden = needless;
    }
  }

  /** Whether what was called no hit is shown, and nothing else. */
  get showsDenied() {
    return this.wanted.on.includes("denied");
  }

  /** A card that no longer meets the filters stays, so that its answer can be seen and changed. */
  changed() {
    if (!this.node.isConnected || this.wanted.on.includes("undecided")) return this.tell(this.order().length);
    const cards = [...this.list.querySelectorAll(".card")];
    return this.tell(cards.filter((card) => isHit(this.book.decisionOf(Number(card.dataset.hit)))).length);
  }

  groups(shown) {
    if (shown.length === 0) {
      const why = this.hits.length > 0 ? "No hits match these filters." : NONE;
      return [el("p", { class: "nothing" }, why)];
    }
    const about = this.showsDenied ? [el("p", { class: "about" }, DENIED)] : [];
    return [...about, ...this.grids(shown)];
  }

  grids(shown) {
    if (this.wanted.order !== "fight") return [this.grid(shown)];
    const names = placeNames(shown, "section");
    if (names.length === 1) return [this.grid(shown)];
    return names.map((name) =>
      el(
        "section",
        { class: "group" },
        el("h2", {}, placeWords("section", name)),
        this.grid(shown.filter((hit) => hit.section === name)),
      ),
    );
  }

  grid(hits) {
    return el("ul", { class: "cards" }, ...hits.map(({ id }) => el("li", {}, this.cards.of(id))));
  }

  chip(name, label) {
    const toggle = () => {
      const others = this.wanted.on.filter((each) => each !== name);
      this.choose({ on: this.wanted.on.includes(name) ? others : [...others, name] });
    };
    return pushButton(label, toggle, { class: "chip", "data-name": name });
  }

  choose(change) {
    this.wanted = { ...this.wanted, ...change };
    this.store.write(SHOWN, this.wanted);
    this.draw();
  }

  placeMenu(kind) {
    const names = placeNames(this.hits, kind);
    if (names.length < 2) return null;
    const options = names.map((name, index) => [String(index + 1), placeWords(kind, name)]);
    const chosen = String(names.indexOf(this.wanted[kind]) + 1 || "");
    return this.menu(PLACES[kind].label, [["", PLACES[kind].all], ...options], chosen, (value) =>
      this.choose({ [kind]: value === "" ? null : names[Number(value) - 1] }),
    );
  }

  menu(label, options, chosen, choose) {
    const select = choiceMenu(options, chosen, choose);
    return el("label", { class: "menu" }, el("span", {}, label), select);
  }

  /** Arrow keys go from card to card. */
  walk(event) {
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    const card = event.target.closest?.(".card");
    if (!by || !card || event.ctrlKey || event.altKey || event.metaKey) return;
    const cards = [...this.list.querySelectorAll(".card")];
    const next = cards[cards.indexOf(card) + by];
    if (next) {
      event.preventDefault();
      next.focus();
    }
  }
}

function placeWords(kind, name) {
  return name ? `${PLACES[kind].label} ${name}` : PLACES[kind].unknown;
}

/** What was chosen on an earlier visit, as far as it still means anything. */
function known(chosen, hits, useful) {
  if (chosen === null || typeof chosen !== "object") return {};
  const on = Array.isArray(chosen.on) ? chosen.on.filter((name) => useful.includes(name)) : [];
  const places = Object.keys(PLACES).map((kind) => [
    kind,
    placeNames(hits, kind).includes(chosen[kind]) ? chosen[kind] : null,
  ]);
  return { on, ...Object.fromEntries(places), order: chosen.order in ORDERS ? chosen.order : "fight" };
}
