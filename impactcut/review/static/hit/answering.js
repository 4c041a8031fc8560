/** Approve, as shot, later, not a hit, a note, undo. */

import { el, pushButton, setPressed, setText, setUsable } from "../base/dom.js";
import { answerWords, signature } from "../base/words.js";

const MOST_NOTE = 2000;

export class Answering {
  /** `act` has `answer(name)`, `note()`, `draft(text)` and `undo()`; `draft` is a note begun. */
  constructor(act, draft, goesOn) {
    const answer = (text, key, name) =>
      pushButton(text, () => act.answer(name), {
        "aria-pressed": "false",
        class: "answer",
        "aria-keyshortcuts": key,
        "data-key": key,
      });
    this.approve = answer("Approve", "A", "approved");
    this.decline = answer("As shot", "D", "declined");
    this.later = answer("Later", "L", "later");
    this.refuse = answer("Not a hit", "X", "not-a-hit");
    this.undo = pushButton("Undo", act.undo);
    this.state = el("p", { class: "state" });
    this.field = el("textarea", { rows: "1", maxlength: String(MOST_NOTE), id: "note" });
    this.noteBy = el("p", { class: "note-by" });
    this.draft = draft;
    this.save = pushButton("Save note", act.note);
    this.field.addEventListener("input", () => {
      act.draft(this.field.value);
      this.drawSave();
    });
    this.node = el(
      "div",
      { class: "answering" },
      el("div", { class: "answers", role: "group", "aria-label": "Your answer" },
        this.approve, this.decline, this.later, this.refuse),
      el("div", { class: "stands" }, this.state, this.undo, goesOn),
      el("div", { class: "note" }, el("label", { for: "note" }, "Note for everybody"), this.field, this.save, this.noteBy),
    );
    this.shownNote = null;
  }

  draw({ decision, waiting, trim, contact, canUndo, reader }) {
    setText(this.approve, trim === null ? "Approve" : `Approve ${trim.count} out`);
    setUsable(this.approve, trim !== null && !(trim.vetoes?.length > 0));
    setPressed(this.approve, decision?.answer === "approved" && sameTrim(decision, trim));
    setPressed(this.decline, decision?.answer === "declined");
    setPressed(this.later, decision?.answer === "later");
    setPressed(this.refuse, decision?.answer === "not-a-hit");
    const by = decision && decision.answer !== "open" ? ` by ${signature(decision)}` : "";
    setText(this.state, `${answerWords(decision, contact)}${by}${waiting ? " (on its way)" : ""}`);
    this.state.dataset.answer = decision?.answer ?? "open";
    setUsable(this.undo, canUndo);
    const author = decision?.note ? decision.note_who || "somebody" : reader;
    setText(this.noteBy, author === reader ? "" : `The note is by ${author}`);
    this.showNote(decision?.note ?? "");
  }

  /** What is in the field now. */
  get note() {
    return this.field.value;
  }

  /** Whether the field holds something that is not saved. */
  get noteIsNew() {
    return this.field.value !== (this.shownNote ?? "");
  }

  drawSave() {
    setUsable(this.save, this.noteIsNew);
  }

  /** Shows the note that stands, but never over one that is being written. */
  showNote(note) {
    if (this.draft !== null) {
      this.field.value = this.draft;
      this.draft = null;
    } else if (this.shownNote === null || this.field.value === this.shownNote) {
      this.field.value = note;
    }
    this.shownNote = note;
    this.drawSave();
  }
}

function sameTrim(decision, trim) {
  return trim !== null && decision.first === trim.first && decision.count === trim.count;
}
