/** What the browser keeps from one visit to the next; in memory where it may keep nothing. */

const PREFIX = "impactcut";

/**
 * @typedef {ReturnType<typeof openStore>} Store
 * @param {string} key of the project or page, so that no two share what they keep
 * @param {"localStorage" | "sessionStorage"} kind what all tabs share, or what one has to itself
 */
export function openStore(key, kind = "localStorage") {
  const start = `${PREFIX}:${key}:`;
  const own = browserStorage(kind);
  const area = own ?? inMemory();

  /** @param {string} name */
  function read(name) {
    try {
      return JSON.parse(area.getItem(start + name) ?? "null");
    } catch {
      return null;
    }
  }

  function write(name, value) {
    try {
      area.setItem(start + name, JSON.stringify(value));
      return true;
    } catch {
      return false;
    }
  }

  function remove(name) {
    area.removeItem(start + name);
  }

  /**
   * Names that begin with `head`.
   * @returns {string[]}
   */
  function names(head) {
    const all = Array.from({ length: area.length }, (_, index) => area.key(index) ?? "");
    return all.filter((name) => name.startsWith(start + head)).map((name) => name.slice(start.length));
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

  return { lasting: own !== null, read, write, remove, names, watch };
}

/** @param {"localStorage" | "sessionStorage"} kind */
function browserStorage(kind) {
  try {
    const name = `${PREFIX}:try`;
    window[kind].setItem(name, "1");
    window[kind].removeItem(name);
    return window[kind];
  } catch {
    return null;
  }
}

/** What stands in for the browser's own, as long as the page is open. */
function inMemory() {
  const kept = new Map();
  return {
    get length() {
      return kept.size;
    },
    key: (index) => [...kept.keys()][index],
    getItem: (name) => kept.get(name),
    setItem: (name, text) => kept.set(name, text),
    removeItem: (name) => kept.delete(name),
  };
}
