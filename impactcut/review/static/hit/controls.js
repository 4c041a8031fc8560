/** Playing, standing, slowing, comparing, hearing, enlarging. */

import { el, pushButton, setPressed, setText, setUsable } from "../base/dom.js";
import { SPEEDS } from "../moment/clock.js";

const MODES = { turn: "In turn", cut: "Trimmed only", shot: "As shot only" };

/** The controls of the picture. `act` holds what they do. */
export class Controls {
  constructor(act) {
    this.play = pushButton("Play", act.toggle);
    this.back = pushButton("−1", () => act.step(-1), { "aria-label": "−1 frame" });
    this.on = pushButton("+1", () => act.step(1), { "aria-label": "+1 frame" });
    this.speed = pushButton(SPEEDS[1], act.slower);
    this.mode = pushButton(MODES.turn, act.alternate);
    this.other = pushButton("Compare", () => {}, { class: "other", title: "Hold it down to see the other: as shot, or trimmed" });
    this.sound = pushButton("Sound", act.sound, { "aria-pressed": "false" });
    this.large = pushButton("Screening", act.screening, { "aria-pressed": "false" });
    this.tap = pushButton("Tap a hit", act.tap);
    this.other.addEventListener("pointerdown", (event) => {
      this.other.setPointerCapture(event.pointerId);
      act.hold(true);
    });
    for (const end of ["pointerup", "pointercancel", "blur"]) {
      this.other.addEventListener(end, () => act.hold(false));
    }
    this.other.addEventListener("keydown", (event) => event.key === " " && act.hold(true));
    this.other.addEventListener("keyup", (event) => event.key === " " && act.hold(false));
    this.node = el(
      "div",
      { class: "controls row", role: "group", "aria-label": "Playing" },
      this.play,
      el("span", { class: "frame-by-frame" }, this.back, this.on),
      this.speed, this.mode, this.other, this.sound, this.large,
      el("span", { class: "frame-by-frame" }, this.tap),
    );
  }

  draw({ playing, speed, mode, comparable, sound, screening }) {
    setText(this.play, playing ? "Pause" : "Play");
    setText(this.speed, SPEEDS[speed]);
    setText(this.mode, MODES[mode]);
    setUsable(this.mode, comparable);
    setUsable(this.other, comparable);
    setPressed(this.sound, sound);
    setPressed(this.large, screening);
  }
}

/** What comes after a way of playing. */
export function nextMode(mode) {
  return { turn: "cut", cut: "shot", shot: "turn" }[mode];
}
