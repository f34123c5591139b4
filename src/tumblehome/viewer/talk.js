// The page's talk with its program: questions and answers over one socket. The program leaves out a question for which a newer
// one of its kind is waiting; an answer that comes after that to a newer question of its kind is dropped.

const CHANGES = new Set(["edit", "release", "undo", "redo", "save", "keep", "recover", "discard"]);

class Talk {
  // told(plan, news) is called with every change of the plan, in words where the disk brought it; joined() when the socket is
  // open, parted() when it is lost.
  constructor(told, joined, parted) {
    Object.assign(this, { told, joined, parted, n: 0, waiting: new Map() });
    this.open();
  }

  open() {
    const address = new URL("talk", window.location.href);
    address.protocol = "ws:";
    this.socket = new WebSocket(address);
    this.socket.onopen = () => this.joined();
    this.socket.onmessage = ({ data }) => this.hear(JSON.parse(data));
    this.socket.onclose = () => {
      this.waiting.clear();
      this.parted();
      setTimeout(() => this.open(), 1500);
    };
  }

  // Ask, and have the answer handed to `use`, unless a newer question of the kind was answered before.
  ask(ask, fields, use = () => {}) {
    if (this.socket.readyState !== WebSocket.OPEN) return;
    const n = ++this.n;
    this.waiting.set(n, { ask, use });
    this.socket.send(JSON.stringify({ n, ask, ...fields }));
  }

  hear(answer) {
    if (answer.n === undefined) {
      this.told(answer.told, answer.news);
      return;
    }
    const asked = this.waiting.get(answer.n);
    this.waiting.delete(answer.n);
    if (!asked) return;
    for (const [n, { ask }] of this.waiting) if (n < answer.n && ask === asked.ask && !CHANGES.has(ask)) this.waiting.delete(n);
    asked.use(answer);
  }
}
