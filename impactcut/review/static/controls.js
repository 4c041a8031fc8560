/** Playing, standing, slowing, comparing, hearing. */

import { el, pushButton, setText } from "./dom.js";

const SPEEDS = [
  [1, "Full"],
  [0.5, "Half"],
  [0.25, "Quarter"],
];

/** The controls under the picture. `act` holds what they do. */
export class Controls {
  constructor(act, withSound) {
    this.play = pushButton("Play", act.toggle);
    this.back = pushButton("− 1 frame", () => act.step(-1));
    this.on = pushButton("+ 1 frame", () => act.step(1));
    this.swap = pushButton("Show as shot", act.swap);
    this.alternate = pushButton("Alternate", act.alternate, { "aria-pressed": "false" });
    this.sound = pushButton("Sound", act.sound, { "aria-pressed": "false" });
    this.speeds = SPEEDS.map(([speed, label]) => this.speed(speed, label, act));
    this.node = el(
      "div",
      { class: "controls" },
      el("div", { class: "cluster" }, this.play, this.back, this.on),
      el(
        "fieldset",
        { class: "cluster speeds" },
        el("legend", {}, "Speed"),
        ...this.speeds.map(({ node }) => node),
      ),
      el("div", { class: "cluster" }, this.swap, this.alternate, withSound ? this.sound : null),
    );
  }

  draw({ playing, speed, showsCut, comparable, alternating, sound }) {
    setText(this.play, playing ? "Pause" : "Play");
    for (const { input, value } of this.speeds) input.checked = value === speed;
    setText(this.swap, showsCut ? "Show as shot" : "Show the cut");
    this.swap.setAttribute("aria-disabled", String(!comparable));
    this.alternate.setAttribute("aria-disabled", String(!comparable));
    this.alternate.setAttribute("aria-pressed", String(alternating));
    this.sound.setAttribute("aria-pressed", String(sound));
  }

  speed(value, label, act) {
    const input = el("input", {
      type: "radio",
      name: "speed",
      value: String(value),
      on: { change: () => act.speed(value) },
    });
    return { value, input, node: el("label", { class: "speed" }, input, el("span", {}, label)) };
  }
}

/** The next slower speed, and full speed after the slowest. */
export function nextSpeed(speed) {
  const place = SPEEDS.findIndex(([each]) => each === speed);
  return SPEEDS[(place + 1) % SPEEDS.length][0];
}
