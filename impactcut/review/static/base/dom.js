/** Elements made in code. Text is only ever set as text, so nothing in it becomes markup. */

/**
 * An HTML element.
 * @param {string} tag
 * @param {object} props attributes; `on` holds listeners, `css` custom properties of its style
 * @param {...(Node|string|null)} children null ones are left out
 */
export function el(tag, props = {}, ...children) {
  return filled(document.createElement(tag), props, children);
}

/** A button; `props` as for `el`. */
export function pushButton(text, click, props = {}) {
  return el("button", { type: "button", ...props, on: { click: () => click() } }, text);
}

/**
 * A menu.
 * @param {string[][]} options pairs of a value and what is read
 * @param {string} chosen
 * @param {(value: string) => void} choose called with what was chosen
 */
export function choiceMenu(options, chosen, choose, props = {}) {
  const menu = /** @type {HTMLSelectElement} */ (
    el("select", props, ...options.map(([value, text]) => el("option", { value }, text)))
  );
  menu.value = chosen;
  menu.addEventListener("change", () => choose(menu.value));
  return menu;
}

/** A table; the first cell of a row names it, and a cell may hold several things. */
export function tableOf(heads, rows, caption = "") {
  const row = ([name, ...cells]) =>
    el("tr", {}, el("th", { scope: "row" }, name), ...cells.map((cell) => el("td", {}, ...[cell].flat())));
  return el(
    "table",
    {},
    caption ? el("caption", {}, caption) : null,
    el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
    el("tbody", {}, ...rows.map(row)),
  );
}

/** Puts other children into an element. */
export function refill(node, ...children) {
  node.replaceChildren(...children.filter((child) => child !== null));
}

/** A button that cannot be used keeps its focus, and says so. */
export function setUsable(node, usable) {
  node.setAttribute("aria-disabled", String(!usable));
}

/** Whether what a button stands for is so now. */
export function setPressed(node, pressed) {
  node.setAttribute("aria-pressed", String(pressed));
}

/** Sets text, and only if it is another one, so that nothing is announced twice. */
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/**
 * What an error says.
 * @param {unknown} error
 */
export function told(error) {
  return error instanceof Error ? error.message : String(error);
}

function filled(node, props, children) {
  for (const [name, value] of Object.entries(props)) {
    if (name === "on") {
      for (const [kind, listener] of Object.entries(value)) node.addEventListener(kind, listener);
    } else if (name === "css") {
      for (const [property, text] of Object.entries(value)) node.style.setProperty(property, text);
    } else if (value === true) {
      node.setAttribute(name, "");
    } else if (value !== false && value !== null && value !== undefined) {
      node.setAttribute(name, value);
    }
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}
