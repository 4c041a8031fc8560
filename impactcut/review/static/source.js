/** Where the page's data come from: the program that serves it, or the file it stands in. */

/** An answer that says no, with the status and the words that it came with. */
export class Refusal extends Error {
  constructor(status, message) {
    super(message);
    this.status = status;
  }
}

/** The source of this page. */
export function openSource() {
  return document.documentElement.dataset.form === "file" ? fileSource() : servedSource();
}

function fileSource() {
  const text = (id) => document.getElementById(id)?.textContent ?? null;
  const json = async (id) => {
    const content = text(id);
    if (content === null) throw new Refusal(404, "this page does not hold that hit");
    return JSON.parse(content);
  };
  const bytes = async (id) => {
    const content = text(id);
    return content === null ? null : unpacked(content);
  };
  return {
    served: false,
    review: () => json("review"),
    detail: (hit) => json(`hit-${hit}`),
    pictures: (hit) => bytes(`pictures-${hit}`),
    sound: (hit, kind) => bytes(`${kind}-${hit}`),
    strip: (hit) => `data:image/webp;base64,${text(`strip-${hit}`)?.trim()}`,
  };
}

function servedSource() {
  let base = new URL(".", window.location.href).pathname;
  const get = async (path) => answered(await fetch(base + path, { credentials: "omit" }));
  return {
    served: true,
    get base() {
      return base;
    },
    /** Follows a new run of the program, whose addresses begin otherwise. */
    moveTo(path) {
      base = path;
    },
    review: async () => (await get("api/review")).json(),
    decisions: async () => (await get("api/decisions")).json(),
    detail: async (hit) => (await get(`api/hits/${hit}`)).json(),
    pictures: async (hit) => (await get(`api/hits/${hit}/pictures`)).arrayBuffer(),
    sound: async (hit, kind) => (await get(`api/hits/${hit}/${kind}`)).arrayBuffer(),
    strip: (hit) => new URL(`${base}api/hits/${hit}/strip`, window.location.href).href,
    async send(answer) {
      const response = await fetch(`${base}api/answers`, {
        method: "POST",
        credentials: "omit",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(answer),
      });
      return (await answered(response)).json();
    },
  };
}

async function answered(response) {
  if (response.ok) return response;
  const text = await response.text();
  let message = text.trim() || `the program answered ${response.status}`;
  try {
    message = JSON.parse(text).error ?? message;
  } catch {
    // Plain text says it as it is.
  }
  throw new Refusal(response.status, message);
}

function unpacked(base64) {
  const binary = atob(base64.trim());
  const bytes = new Uint8Array(binary.length);
  for (let index = 0; index < binary.length; index += 1) bytes[index] = binary.charCodeAt(index);
  return bytes.buffer;
}
