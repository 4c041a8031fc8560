/** What the browser keeps from one visit to the next; in memory where it may keep nothing. */

const PREFIX = "impactcut";

/**
 * @typedef {ReturnType<typeof openStore>} Store
 * @param {string} key of the project or page, so that no two share what they keep
 * @param {Storage | null} [area] for tests; the browser's own otherwise
 */
export function openStore(key, area = browserStorage()) {
  const start = `${PREFIX}:${key}:`;
  const memory = new Map();
  const lasting = area !== null;

  /** @param {string} name */
  function read(name) {
    const text = area ? area.getItem(start + name) : memory.get(name);
    try {
      return text === null || text === undefined ? null : JSON.parse(text);
    } catch {
      return null;
    }
  }

  function write(name, value) {
    const text = JSON.stringify(value);
    if (!area) {
      memory.set(name, text);
      return true;
    }
    try {
      area.setItem(start + name, text);
      return true;
    } catch {
      return false;
    }
  }

  function remove(name) {
    if (area) area.removeItem(start + name);
    else memory.delete(name);
  }

  /**
   * Names that begin with `head`.
   * @returns {string[]}
   */
  function names(head) {
    if (!area) return [...memory.keys()].filter((name) => name.startsWith(head));
    const found = [];
    for (let index = 0; index < area.length; index += 1) {
      const name = area.key(index);
      if (name?.startsWith(start + head)) found.push(name.slice(start.length));
    }
    return found;
  }

  /**
   * Calls back when another tab has changed something.
   * @param {(name: string) => void} changed
   */
  function watch(changed) {
    window.addEventListener("storage", (event) => {
      if (event.key === null) changed("");
      else if (event.key.startsWith(start)) changed(event.key.slice(start.length));
    });
  }

  return { lasting, read, write, remove, names, watch };
}

function browserStorage() {
  try {
    const name = `${PREFIX}:try`;
    window.localStorage.setItem(name, "1");
    window.localStorage.removeItem(name);
    return window.localStorage;
  } catch {
    return null;
  }
}
