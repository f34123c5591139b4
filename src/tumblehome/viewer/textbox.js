// The file's whole text, to be read and changed. It follows what is changed elsewhere, unless it holds what was typed and not applied.

class TextBox {
  // `page` gives the text, ask(use), takes another one, apply(text, use), and tells whether it can be changed, canChange().
  constructor(page) {
    Object.assign(this, { page, known: "", sent: null, isForeign: false, line: null, revision: null });
    this.area = byId("text");
    this.area.addEventListener("input", () => this.show());
    this.area.addEventListener("scroll", () => this.scroll());
    this.area.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) this.apply();
    });
    byId("text-open").addEventListener("click", () => this.fold(!this.isOpen));
    byId("text-apply").addEventListener("click", () => this.apply());
    byId("text-drop").addEventListener("click", () => this.drop());
    byId("text-line").addEventListener("click", () => this.go());
    window.addEventListener("beforeunload", (event) => { if (this.isTyped) event.preventDefault(); });
  }

  get isOpen() { return !byId("text-body").hidden; }
  get isTyped() { return this.area.value !== this.known; }

  fold(opens) {
    byId("text-body").hidden = !opens;
    byId("text-open").setAttribute("aria-expanded", opens);
    document.querySelector("main").classList.toggle("has-text", opens);
    this.revision = null;
    this.follow(this.plan);
  }

  // Have the text brought when the plan is another one than that whose text is here; while the box is closed it does not travel.
  follow(plan) {
    this.plan = plan;
    if (plan) byId("text-open").textContent = `The text of ${plan.file}`;
    if (!plan || !this.isOpen || plan.revision === this.revision) return;
    this.revision = plan.revision;
    this.page.ask((answer) => this.take(answer));
  }

  take({ text, line }) {
    const plain = text.replace(/\r\n?/g, "\n"); // as a text area has it
    const wasTyped = this.isTyped;
    if (plain !== this.known && plain !== this.sent && wasTyped) this.isForeign = true;
    Object.assign(this, { known: plain, line, sent: null });
    if (!wasTyped) this.fill();
    this.show();
  }

  fill() {
    const { area } = this;
    if (area.value === this.known) return;
    const { scrollTop, scrollLeft, selectionStart, selectionEnd } = area;
    area.value = this.known;
    area.setSelectionRange(selectionStart, selectionEnd);
    Object.assign(area, { scrollTop, scrollLeft });
  }

  apply() {
    if (!this.isTyped || !this.page.canChange()) return;
    this.sent = this.area.value;
    this.page.apply(this.sent);
  }

  drop() {
    this.fill();
    this.show();
    this.area.focus();
  }

  // Put the caret into the line at fault.
  go() {
    const { area, line } = this;
    const start = area.value.split("\n").slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    const end = area.value.indexOf("\n", start);
    area.focus();
    area.setSelectionRange(start, end < 0 ? area.value.length : end);
    area.scrollTop = (line - 4) * parseFloat(getComputedStyle(area).lineHeight);
  }

  show() {
    const { area, isTyped, line } = this;
    const isFixed = !this.page.canChange();
    if (!isTyped) this.isForeign = false;
    area.readOnly = isFixed;
    area.setAttribute("aria-invalid", Boolean(line) && !isTyped);
    byId("text-work").hidden = isFixed;
    byId("text-apply").disabled = !isTyped;
    byId("text-drop").hidden = !isTyped;
    byId("text-line").hidden = !line || isTyped;
    byId("text-told").classList.toggle("told-above", !isFixed && !isTyped);
    const words = { line: `go to line ${line}`, told: this.words(isFixed), mark: isTyped ? "not applied yet" : "" };
    for (const [name, now] of Object.entries(words)) if (byId(`text-${name}`).textContent !== now) byId(`text-${name}`).textContent = now;
    this.number(isTyped ? null : line);
  }

  words(isFixed) {
    if (isFixed) return "A bare shell can be looked at here, not changed.";
    if (this.isForeign) return "The text was changed elsewhere since you began to type. Applying puts yours in its place.";
    return (!this.isTyped && this.plan && this.plan.fault) || "";
  }

  // The numbers of the lines, that at fault marked.
  number(wrong) {
    const count = this.area.value.split("\n").length;
    if (this.numbered === `${count} ${wrong}`) return;
    this.numbered = `${count} ${wrong}`;
    const upTo = (first, last) => Array.from({ length: Math.max(last - first + 1, 0) }, (_, i) => `${first + i}\n`).join("");
    const at = wrong || count + 1;
    byId("text-lines").replaceChildren(upTo(1, at - 1), ...(wrong ? [made("b", {}, `${wrong}`), "\n"] : []), upTo(at + 1, count));
    this.scroll();
  }

  scroll() { byId("text-lines").scrollTop = this.area.scrollTop; }
}
