// Questions to the server. Every change of the page has a number, and an answer to an older change
// is never shown: see `Latest`.

const page = Math.random().toString(36).slice(2);

// Posts an object and gives the answer; null where the server is gone or too busy.
export async function post(path, body) {
  try {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ page, ...body }),
    });
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

export async function get(path) {
  const answer = await fetch(path);
  return answer.json();
}

// Asks one kind of question, one at a time; of several that wait only the newest is asked, and the
// answer to one is dropped when a newer was answered already.
export class Latest {
  constructor(path, show) {
    this.path = path;
    this.show = show;
    this.waiting = null;
    this.asking = false;
    this.shown = 0;
  }

  async ask(number, body) {
    this.waiting = { number, body };
    if (this.asking) return;
    this.asking = true;
    while (this.waiting) {
      const { number: now, body: sent } = this.waiting;
      this.waiting = null;
      const answer = await post(this.path, { number: now, ...sent });
      if (answer && !answer.stale && now >= this.shown) {
        this.shown = now;
        this.show(answer, now);
      }
    }
    this.asking = false;
  }
}
