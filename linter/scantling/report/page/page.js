"use strict";
(() => {
  const root = document.documentElement;
  const PX_PER_MM = 96 / 25.4;
  const CLOSEST = 400;
  const still = matchMedia("(prefers-reduced-motion: reduce)");

  const make = (tag, text = "", props = {}) => {
    const node = document.createElement(tag);
    node.textContent = text;
    return Object.assign(node, props);
  };
  const boxOf = (text) => text.split(" ").map(Number);

  // One drawing: what is seen of it, and its list.
  class Bench {
    constructor(view) {
      this.view = view;
      this.stage = view.querySelector(".stage");
      this.svg = view.querySelector("svg.sheet");
      this.numbers = view.querySelector(".numbers");
      this.readout = view.querySelector(".readout");
      this.list = view.querySelector(".list");
      this.detail = view.querySelector(".detail");
      this.home = boxOf(this.stage.dataset.home);
      this.still = this.svg.getAttribute("viewBox");
      this.stillText = this.numbers?.getAttribute("font-size");
      this.items = this.list ? [...this.list.children] : [];
      this.shown = this.items;
      this.itemOf = new Map(this.items.map((item) => [item.dataset.n, item]));
      this.marks = [...view.querySelectorAll(".mark")];
      this.markOf = new Map(this.marks.map((mark) => [mark.dataset.n, mark]));
      this.textOf = new Map(
        [...(this.numbers?.children ?? [])].map((text) => [text.dataset.n, text]));
      this.open = new Set();
      this.marked = new Set(this.itemOf.keys());
      this.chosen = null;
      this.fitted = true;
      this.moved = 0;
      this.middle = [0, 0];
      this.zoom = 1;
      this.hear();
      this.sift();
      new ResizeObserver(() => this.resize()).observe(this.stage);
    }

    // Looking: `middle` in mm, `zoom` in px per mm

    resize() {
      const { width, height } = this.stage.getBoundingClientRect();
      if (!width || !height) return;
      this.width = width;
      this.height = height;
      if (this.fitted) this.look(...this.fitting(this.home));
      this.draw();
    }

    fitting([x0, y0, x1, y1], most = Infinity) {
      const room = 60;
      const zoom = Math.min(
        (this.width - room) / Math.max(x1 - x0, .01),
        (this.height - room) / Math.max(y1 - y0, .01), most);
      return [(x0 + x1) / 2, (y0 + y1) / 2, Math.max(zoom, this.farthest())];
    }

    farthest() {
      const [x0, y0, x1, y1] = this.home;
      return .25 * Math.min(this.width / (x1 - x0), this.height / (y1 - y0));
    }

    look(x, y, zoom) {
      const [x0, y0, x1, y1] = this.home;
      const beside = Math.max(x1 - x0, y1 - y0);
      this.middle = [
        Math.min(Math.max(x, x0 - beside), x1 + beside),
        Math.min(Math.max(y, y0 - beside), y1 + beside)];
      this.zoom = Math.min(Math.max(zoom, this.farthest()), CLOSEST);
      if (!this.waiting) {
        this.waiting = requestAnimationFrame(() => { this.waiting = 0; this.draw(); });
      }
    }

    draw() {
      if (!this.width || this.printing) return;
      const [w, h] = [this.width / this.zoom, this.height / this.zoom];
      const [x, y] = [this.middle[0] - w / 2, this.middle[1] - h / 2];
      this.svg.setAttribute("viewBox", `${x} ${y} ${w} ${h}`);
      this.numbers?.setAttribute("font-size", 12 / this.zoom);
      // of very many marks only the pins are drawn from afar
      this.svg.classList.toggle("far", this.zoom < 3 * this.fitting(this.home)[2]);
      this.rule(this.view.querySelector(".ruler.top"), x, w, true);
      this.rule(this.view.querySelector(".ruler.left"), y, h, false);
    }

    fly(x, y, zoom) {
      cancelAnimationFrame(this.flying);
      this.fitted = false;
      const from = [...this.middle, this.zoom];
      const start = performance.now();
      const lasts = still.matches || document.hidden ? 0 : 260;
      const step = (now) => {
        const t = lasts ? Math.min((now - start) / lasts, 1) : 1;
        const s = t * t * (3 - 2 * t);
        const z = from[2] * (zoom / from[2]) ** s;
        // the place grows as the zoom does, so that it comes straight at the viewer
        const k = zoom === from[2] ? s : (1 / from[2] - 1 / z) / (1 / from[2] - 1 / zoom);
        this.look(from[0] + (x - from[0]) * k, from[1] + (y - from[1]) * k, z);
        if (t < 1) this.flying = requestAnimationFrame(step);
      };
      if (lasts) this.flying = requestAnimationFrame(step);
      else step(start);
    }

    nearer(factor, px = this.width / 2, py = this.height / 2) {
      cancelAnimationFrame(this.flying);
      this.fitted = false;
      const [x, y] = this.under(px, py);
      const zoom = Math.min(Math.max(this.zoom * factor, this.farthest()), CLOSEST);
      this.look(x - (px - this.width / 2) / zoom, y - (py - this.height / 2) / zoom, zoom);
    }

    pan(dx, dy) {
      cancelAnimationFrame(this.flying);
      this.fitted = false;
      this.look(this.middle[0] - dx / this.zoom, this.middle[1] - dy / this.zoom, this.zoom);
    }

    under(px, py) {
      return [
        this.middle[0] + (px - this.width / 2) / this.zoom,
        this.middle[1] + (py - this.height / 2) / this.zoom];
    }

    whole() {
      this.fly(...this.fitting(this.home));
      this.fitted = true;
    }

    rule(canvas, start, length, across) {
      const broad = 22;
      const [w, h] = across ? [this.width, broad] : [broad, this.height];
      const dots = devicePixelRatio || 1;
      if (canvas.width !== Math.round(w * dots) || canvas.height !== Math.round(h * dots)) {
        [canvas.width, canvas.height] = [Math.round(w * dots), Math.round(h * dots)];
        [canvas.style.width, canvas.style.height] = [`${w}px`, `${h}px`];
        canvas.style.left = canvas.style.top = "0";
      }
      const pen = canvas.getContext("2d");
      const ink = getComputedStyle(this.stage);
      pen.setTransform(dots, 0, 0, dots, 0, 0);
      pen.clearRect(0, 0, w, h);
      pen.fillStyle = ink.getPropertyValue("--panel");
      pen.globalAlpha = .88;
      pen.fillRect(0, 0, w, h);
      pen.globalAlpha = 1;
      pen.fillStyle = pen.strokeStyle = ink.getPropertyValue("--faint");
      pen.font = "10px system-ui, sans-serif";
      pen.lineWidth = 1;
      const least = 56 / this.zoom;
      const power = 10 ** Math.floor(Math.log10(least));
      const step = [1, 2, 5, 10].map((k) => k * power).find((k) => k >= least);
      const small = step / (Math.round(step / power) === 2 ? 4 : 5);
      pen.beginPath();
      for (let k = Math.ceil(start / small); k * small <= start + length; k += 1) {
        const at = Math.round((k * small - start) * this.zoom) + .5;
        const long = Math.abs(k * small / step - Math.round(k * small / step)) < 1e-6;
        const reach = long ? 9 : 5;
        pen.moveTo(...(across ? [at, broad] : [broad, at]));
        pen.lineTo(...(across ? [at, broad - reach] : [broad - reach, at]));
        if (!long) continue;
        const text = String(+(k * small).toFixed(3));
        if (across) pen.fillText(text, at + 3, 10);
        else {
          pen.save();
          pen.translate(10, at - 3);
          pen.rotate(-Math.PI / 2);
          pen.fillText(text, 0, 0);
          pen.restore();
        }
      }
      pen.stroke();
      if (!across) {
        pen.fillStyle = ink.getPropertyValue("--panel");
        pen.fillRect(0, 0, broad, broad);
        pen.fillStyle = ink.getPropertyValue("--faint");
        pen.fillText("mm", 2, 14);
      }
    }

    // Choosing

    choose(item, { fly = true, told = true } = {}) {
      if (item?.dataset.fold && item.hidden) {
        this.open.add(item.dataset.fold);
        this.sift();
      }
      if (this.chosen) {
        this.chosen.setAttribute("aria-selected", "false");
        this.markOf.get(this.chosen.dataset.n)?.classList.remove("on");
      }
      this.chosen = item;
      if (!item) {
        this.list.removeAttribute("aria-activedescendant");
        this.detail.hidden = true;
        return;
      }
      item.setAttribute("aria-selected", "true");
      this.list.setAttribute("aria-activedescendant", item.id);
      const mark = this.markOf.get(item.dataset.n);
      mark?.classList.add("on");
      this.tell(item);
      // only the list is scrolled, never the page: the drawing must stay in view
      const { list } = this;
      const above = item.offsetTop - list.scrollTop;
      const below = above + item.offsetHeight - list.clientHeight;
      if (above < 0) list.scrollTop += above;
      else if (below > 0) list.scrollTop += Math.min(below, above);
      if (mark) {
        this.sheetOn(mark.dataset.sheet);
        mark.parentNode.append(mark);
      }
      if (fly && item.dataset.box && this.width) {
        this.fly(...this.fitting(boxOf(item.dataset.box), Math.max(this.zoom, 24)));
      }
      if (told) history.replaceState(null, "", `#${item.id.replace("-", ".")}`);
    }

    tell(item) {
      const heading = make("h2");
      heading.append(
        make("span", item.querySelector(".word").textContent, { className: "word" }),
        ` ${item.querySelector(".said").textContent}`);
      const steps = make("div", "", { className: "step" });
      for (const [by, sign, title] of [[-1, "↑", "Previous (P)"], [1, "↓", "Next (N)"]]) {
        const button = make("button", sign, { type: "button", title });
        button.setAttribute("aria-label", title);
        button.addEventListener("click", () => this.step(by));
        steps.append(button);
      }
      const rule = document.getElementById(`rule-${item.dataset.rule}`);
      const told = item.querySelector("template")?.content ?? item;
      const copy = (from, what) => from?.querySelector(what)?.cloneNode(true) ?? "";
      const parts = [
        steps, heading, copy(told, ".key"), copy(rule, ".remedy"), copy(told, ".rest"),
        copy(rule, ".why"), copy(rule, ".source")];
      this.detail.className = `detail ${item.dataset.level}`;
      const steered = this.detail.contains(document.activeElement)
        ? document.activeElement.title : "";
      this.detail.replaceChildren(...parts);
      this.detail.hidden = false;
      this.detail.scrollTop = 0;
      if (steered) steps.querySelector(`[title="${steered}"]`)?.focus();
    }

    step(by, wrap = true) {
      const many = this.shown.length;
      if (!many) return;
      let at = this.shown.indexOf(this.chosen) + (this.chosen ? by : Math.max(by, 0));
      at = wrap ? (at + many) % many : Math.min(Math.max(at, 0), many - 1);
      this.choose(this.shown[at]);
    }

    // Sieving

    sift() {
      if (!this.list) return;
      const levels = new Set(
        [...this.view.querySelectorAll('.sieve [aria-pressed="true"]')].map((b) => b.dataset.level));
      const rule = this.view.querySelector(".sieve select")?.value ?? "";
      const words = (this.view.querySelector(".sieve input")?.value ?? "").trim().toLowerCase();
      if (words) this.wordsOf ??= this.items.map((item) => item.textContent.toLowerCase());
      const passes = this.items.filter((item, k) => levels.has(item.dataset.level)
        && (!rule || item.dataset.rule === rule) && (!words || this.wordsOf[k].includes(words)));
      // the worst of many speaks for them until they are asked for; all of them stay marked
      this.shown = passes.filter((item) => rule || words || !item.dataset.fold
        || this.open.has(item.dataset.fold));
      this.marked = new Set(passes.map((item) => item.dataset.n));
      const stays = new Set(this.shown);
      for (const item of this.items) {
        // only what changes is touched: a list of thousands is laid out anew otherwise
        if (item.hidden === stays.has(item)) item.hidden = !item.hidden;
      }
      this.hide();
      if (this.chosen?.hidden) this.choose(null);
      const all = this.shown.length === this.items.length;
      this.view.querySelector(".sieve output").textContent =
        all ? "" : `${this.shown.length} of ${this.items.length}`;
    }

    hide() {
      const off = new Set(
        [...this.view.querySelectorAll(".sheets input:not(:checked)")].map((i) => i.dataset.sheet));
      for (const path of this.svg.querySelectorAll("path[data-sheet]")) {
        path.classList.toggle("gone", off.has(path.dataset.sheet));
      }
      for (const mark of this.marks) {
        const { n, sheet } = mark.dataset;
        const gone = off.has(sheet) || !this.marked.has(n);
        if (gone === mark.classList.contains("gone")) continue;
        mark.classList.toggle("gone", gone);
        this.textOf.get(n)?.classList.toggle("gone", gone);
      }
    }

    sheetOn(number) {
      const box = this.view.querySelector(`.sheets input[data-sheet="${number}"]`);
      if (box && !box.checked) {
        box.checked = true;
        this.hide();
      }
    }

    warm(n, on) {
      this.markOf.get(n)?.classList.toggle("warm", on);
      this.itemOf.get(n)?.classList.toggle("warm", on);
    }

    // Hearing

    hear() {
      this.hearStage();
      for (const button of this.view.querySelectorAll(".tools button")) {
        button.addEventListener("click", () => this.act(button.dataset.do));
      }
      for (const box of this.view.querySelectorAll(".sheets input")) {
        box.addEventListener("change", () => this.hide());
      }
      if (!this.list) return;
      for (const button of this.view.querySelectorAll(".sieve button")) {
        button.addEventListener("click", () => {
          button.setAttribute("aria-pressed", String(button.getAttribute("aria-pressed") !== "true"));
          this.sift();
        });
      }
      this.view.querySelector(".sieve select")?.addEventListener("change", () => this.sift());
      let typing = 0;
      this.view.querySelector(".sieve input")?.addEventListener("input", () => {
        clearTimeout(typing);
        typing = setTimeout(() => this.sift(), 150);
      });
      this.hearList();
    }

    act(what) {
      if (what === "closer") this.nearer(1.6);
      if (what === "farther") this.nearer(1 / 1.6);
      if (what === "whole") this.whole();
      if (what === "true") this.fly(...this.middle, PX_PER_MM);
    }

    hearList() {
      const { list } = this;
      list.setAttribute("role", "listbox");
      list.tabIndex = 0;
      for (const item of this.items) {
        item.setAttribute("role", "option");
        item.setAttribute("aria-selected", "false");
      }
      const itemAt = (event) => event.target.closest("li");
      list.addEventListener("click", (event) => { if (itemAt(event)) this.choose(itemAt(event)); });
      for (const [name, on] of [["mouseover", true], ["mouseout", false]]) {
        list.addEventListener(name, (event) => {
          if (itemAt(event)) this.warm(itemAt(event).dataset.n, on);
        });
      }
      list.addEventListener("keydown", (event) => {
        const page = Math.max(Math.floor(list.clientHeight / 70), 1);
        const by = { ArrowDown: 1, ArrowUp: -1, PageDown: page, PageUp: -page,
          Home: -Infinity, End: Infinity }[event.key];
        if (event.key === "Enter" || event.key === " ") {
          if (this.chosen) this.choose(this.chosen);
        } else if (!by) return;
        else if (this.chosen || by === Infinity) this.step(by, false);
        else this.step(1, false);
        event.preventDefault();
      });
    }

    hearStage() {
      const { stage } = this;
      const held = new Map();
      const place = (event) => {
        const { left, top } = stage.getBoundingClientRect();
        return [event.clientX - left, event.clientY - top];
      };
      stage.addEventListener("wheel", (event) => {
        event.preventDefault();
        const lines = event.deltaMode === 1 ? 16 : 1;
        this.nearer(Math.exp(-event.deltaY * lines * (event.ctrlKey ? .01 : .0016)), ...place(event));
      }, { passive: false });
      stage.addEventListener("pointerdown", (event) => {
        if (event.target.closest(".tools") || event.button > 1) return;
        held.set(event.pointerId, place(event));
        this.moved = held.size > 1 ? Infinity : 0;
      });
      stage.addEventListener("pointermove", (event) => {
        const now = place(event);
        const [x, y] = this.under(...now);
        this.readout.textContent = `x ${x.toFixed(2)}  y ${y.toFixed(2)} mm`;
        const was = held.get(event.pointerId);
        if (!was) return;
        if (held.size === 1) {
          this.moved += Math.hypot(now[0] - was[0], now[1] - was[1]);
          if (this.moved < 4) return;
          stage.setPointerCapture(event.pointerId);
          stage.classList.add("dragged");
          this.pan(now[0] - was[0], now[1] - was[1]);
        } else if (held.size === 2) {
          const other = [...held].find(([id]) => id !== event.pointerId)[1];
          const far = (a) => Math.hypot(a[0] - other[0], a[1] - other[1]);
          this.nearer(far(now) / Math.max(far(was), 1), ...other);
        }
        held.set(event.pointerId, now);
      });
      const leave = (event) => {
        held.delete(event.pointerId);
        stage.classList.remove("dragged");
      };
      stage.addEventListener("pointerup", (event) => {
        const pressed = held.has(event.pointerId);
        leave(event);
        if (!pressed || this.moved >= 4) return;
        const mark = document.elementFromPoint(event.clientX, event.clientY)?.closest(".mark");
        if (mark) this.choose(this.itemOf.get(mark.dataset.n), { fly: false });
      });
      stage.addEventListener("pointercancel", leave);
      stage.addEventListener("pointerleave", () => { this.readout.textContent = ""; });
      stage.addEventListener("dblclick", (event) => {
        if (!event.target.closest(".tools")) this.nearer(2, ...place(event));
      });
      for (const [name, on] of [["mouseover", true], ["mouseout", false]]) {
        this.svg.addEventListener(name, (event) => {
          const mark = event.target.closest(".mark");
          if (mark) this.warm(mark.dataset.n, on);
        });
      }
      stage.addEventListener("keydown", (event) => {
        if (event.ctrlKey || event.metaKey || event.altKey || event.target !== stage) return;
        const far = event.shiftKey ? 240 : 60;
        const moves = { ArrowLeft: [far, 0], ArrowRight: [-far, 0], ArrowUp: [0, far], ArrowDown: [0, -far] };
        const acts = { "+": "closer", "=": "closer", "-": "farther", "0": "whole", "1": "true" };
        if (moves[event.key]) this.pan(...moves[event.key]);
        else if (acts[event.key]) this.act(acts[event.key]);
        else return;
        event.preventDefault();
      });
    }

    // A page that is loaded anew, because the drawing was saved, goes on where it was.
    state() {
      return {
        middle: this.middle, zoom: this.zoom, fitted: this.fitted,
        chosen: this.chosen?.dataset.key ?? "",
        off: [...this.view.querySelectorAll(".sheets input:not(:checked)")].map((i) => i.name),
      };
    }

    restore({ middle, zoom, fitted, chosen, off }) {
      this.resize();
      if (!fitted) {
        this.fitted = false;
        this.look(...middle, zoom);
      }
      for (const box of this.view.querySelectorAll(".sheets input")) {
        box.checked = !off.includes(box.name);
      }
      this.hide();
      const item = chosen && this.items.find((one) => one.dataset.key === chosen);
      if (item) this.choose(item, { fly: false });
    }

    // Printing shows all of the drawing, whatever is looked at.
    print(on) {
      this.printing = on;
      if (on) {
        this.svg.setAttribute("viewBox", this.still);
        this.numbers?.setAttribute("font-size", this.stillText);
      } else this.draw();
    }
  }

  // The table of drawings
  const index = document.getElementById("index");
  if (index) {
    const rows = [...index.querySelectorAll("tbody tr")];
    if (rows.length) sortable(index.querySelector("table"));
    const find = index.querySelector("#find");
    find?.addEventListener("input", () => {
      const words = find.value.trim().toLowerCase();
      let left = 0;
      for (const row of rows) {
        row.hidden = !row.querySelector("th").dataset.v.toLowerCase().includes(words);
        left += !row.hidden;
      }
      index.querySelector("#found").textContent = words ? `${left} of ${rows.length}` : "";
    });
  }

  // Which view is open: the address says it.
  const views = [...document.querySelectorAll(".view")];
  const benches = new Map();
  const title = document.title;
  let open = null;
  let routed = false;
  let reloaded = performance.getEntriesByType("navigation")[0]?.type === "reload";

  const route = () => {
    // a point, not the hyphen of the item's id: the browser must not scroll to it by itself
    const [id, number] = location.hash.slice(1).split(".");
    const view = views.find((one) => one.id === id) ?? views[0];
    const changed = view !== open;
    open = view;
    for (const one of views) one.classList.toggle("open", one === view);
    root.classList.toggle("drawing-open", view.classList.contains("drawing"));
    if (view.querySelector(".stage") && !benches.has(view)) benches.set(view, new Bench(view));
    const bench = benches.get(view);
    if (changed) {
      if (view.id === "index") document.title = title;
      else document.title = `${view.querySelector("h1").textContent} · scantling`;
      if (routed) view.querySelector("h1").focus();
    }
    // after a reload numbers may have moved on: `restore` knows better
    const item = number && !reloaded && bench?.itemOf.get(number);
    if (item) requestAnimationFrame(() => { bench.resize(); bench.choose(item, { told: false }); });
  };

  route();
  routed = true;
  const again = reloaded;
  reloaded = false;
  addEventListener("hashchange", route);
  const kept = "scantling";
  addEventListener("pagehide", () => {
    const bench = benches.get(open);
    try {
      sessionStorage.setItem(kept, JSON.stringify(bench ? { id: open.id, ...bench.state() } : {}));
    } catch { /* storage is shut: nothing is kept */ }
  });
  if (again) {
    requestAnimationFrame(() => {
      try {
        const state = JSON.parse(sessionStorage.getItem(kept));
        if (state.id === open.id) benches.get(open)?.restore(state);
      } catch { /* nothing was kept */ }
    });
  }
  addEventListener("beforeprint", () => { for (const bench of benches.values()) bench.print(true); });
  addEventListener("afterprint", () => { for (const bench of benches.values()) bench.print(false); });
  addEventListener("keydown", (event) => {
    const bench = benches.get(open);
    if (!bench || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, select")) return;
    const key = event.key.toLowerCase();
    if (key === "n") bench.step(1);
    else if (key === "p") bench.step(-1);
    else if (key === "escape") bench.choose(null);
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    for (const bench of benches.values()) bench.draw();
  });
})();
