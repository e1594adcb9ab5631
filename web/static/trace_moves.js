// The trace zoomed and moved by wheel, fingers, keys and buttons, and its phases dragged, nudged and typed.
"use strict";
(() => {
  const { PHASES, Drawing, clamp, fill, make } = globalThis.ownmarkTrace;
  const CLOSER = 3, WHEEL = 0.0016;

  class Trace extends Drawing {
    look(begin, end) {
      const [low, high] = this.say.whole, length = clamp(end - begin, Math.min(this.say.least, high - low), high - low);
      const from = clamp((begin + end - length) / 2, low, high - length);
      this.view = [from, from + length];
      this.cursor = clamp(this.cursor, ...this.view);
      this.setSlider();
      this.part();
      this.draw();
    }

    part() {
      const [begin, end] = this.view;
      this.root.querySelector(".trace-part").textContent = fill(this.say.texts.part, {
        begin: this.at(begin), end: this.at(end), length: this.fromStart(end - begin),
      });
    }

    zoom(factor, moment) {
      const [a, b] = this.view, length = clamp((b - a) * factor, this.say.least, this.say.whole[1] - this.say.whole[0]);
      const part = (moment - a) / (b - a), begin = moment - part * length;
      this.look(begin, begin + length);
    }

    move(part) {
      const [a, b] = this.view, [low, high] = this.say.whole, by = clamp(part * (b - a), low - a, high - b);
      this.look(a + by, b + by);
    }

    go(way) {
      const middle = this.pointed ? this.cursor : (this.view[0] + this.view[1]) / 2, work = this.phases.work;
      if (way === "zoom_in") this.zoom(1 / CLOSER, middle);
      else if (way === "zoom_out") this.zoom(CLOSER, middle);
      else if (way === "earlier") this.move(-0.5);
      else if (way === "later") this.move(0.5);
      else if (way === "whole") this.look(...this.say.whole);
      else if (way === "to_work" && work) this.look(work[0] - 0.1 * (work[1] - work[0]), work[1] + 0.1 * (work[1] - work[0]));
      else if (way === "flags") this.toggleFlags();
    }

    toggleFlags() {
      this.flagsShown = !this.flagsShown;
      const way = this.root.querySelector('[data-way="flags"]');
      way.textContent = this.flagsShown ? this.say.texts.hide_flags : this.say.texts.show_flags;
      this.draw();
    }

    ways() {
      for (const way of this.root.querySelectorAll("[data-way]")) {
        way.setAttribute("role", "button");
        way.addEventListener("click", (event) => {
          event.preventDefault();
          this.go(way.dataset.way);
        });
        way.addEventListener("keydown", (event) => {
          if (event.key === " ") {
            event.preventDefault();
            this.go(way.dataset.way);
          }
        });
      }
    }

    watch() {
      const { plot, picture, slider } = this;
      picture.tabIndex = -1;
      new ResizeObserver(() => this.draw()).observe(plot);
      slider.addEventListener("input", () => this.readAt(this.view[0] + slider.value * this.pace(), true));
      this.setSlider();
      slider.setAttribute("aria-valuetext", this.moment(this.cursor));
      for (const place of [picture, slider]) place.addEventListener("keydown", (event) => this.key(event, place === slider));
      plot.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
      plot.addEventListener("pointerdown", (event) => this.down(event));
      plot.addEventListener("pointermove", (event) => this.moved(event));
      for (const kind of ["pointerup", "pointercancel"]) plot.addEventListener(kind, (event) => this.up(event));
    }

    key(event, onSlider) {
      const keys = { "+": "zoom_in", "=": "zoom_in", "-": "zoom_out", "0": "whole" };
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.key in keys) this.go(keys[event.key]);
      else if (event.shiftKey && event.key === "ArrowLeft") this.go("earlier");
      else if (event.shiftKey && event.key === "ArrowRight") this.go("later");
      else if (!onSlider && event.key === "ArrowLeft") this.readAt(this.cursor - this.pace());
      else if (!onSlider && event.key === "ArrowRight") this.readAt(this.cursor + this.pace());
      else return;
      event.preventDefault();
    }

    moves(event) {
      const box = this.plot.getBoundingClientRect();
      return this.view[0] + clamp((event.clientX - box.left) / box.width, 0, 1) * (this.view[1] - this.view[0]);
    }

    wheel(event) {
      if (!(event.ctrlKey || event.metaKey || this.picture.contains(document.activeElement))) return;
      event.preventDefault();
      const lines = event.deltaMode === 1 ? 32 : 1;
      if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) this.move((event.deltaX * lines) / this.width);
      else this.zoom(Math.exp(event.deltaY * lines * WHEEL * (event.ctrlKey && !lines ? 6 : 1)), this.moves(event));
    }

    // ---- fingers and mouse -------------------------------------------------------------------------------------

    down(event) {
      if (event.pointerType === "mouse" && event.button !== 0) return;
      const handle = this.handleAt(event);
      this.pointers.set(event.pointerId, event.clientX);
      this.plot.setPointerCapture(event.pointerId);
      this.picture.focus({ preventScroll: true });
      if (handle && this.pointers.size === 1) {
        this.held = handle;
        handle.classList.add("held");
      } else {
        this.drop();
        this.dragged = false;
        if (this.pointers.size === 1) this.readAt(this.moves(event));
        this.grip();
      }
      event.preventDefault();
    }

    /** The handle whose grip is under a finger, else the one whose line is. */
    handleAt(event) {
      const under = document.elementsFromPoint(event.clientX, event.clientY), of = (look) => under.find((each) => each.matches(look));
      return (of(".handle .grip, .handle .teeth") || of(".handle .hit"))?.closest(".handle");
    }

    /** The moments that stand under the fingers stay under them. */
    grip() {
      const box = this.plot.getBoundingClientRect(), length = this.view[1] - this.view[0];
      this.anchors = [...this.pointers].map(([id, x]) => [id, this.view[0] + ((x - box.left) / box.width) * length]);
    }

    moved(event) {
      if (!this.pointers.has(event.pointerId)) {
        if (event.pointerType === "mouse" && !this.pointers.size) this.readAt(this.moves(event));
        return;
      }
      this.pointers.set(event.pointerId, event.clientX);
      if (this.held) {
        this.setEdge(this.held.dataset.edge, this.moves(event));
        this.readAt(this.moves(event));
      } else if (this.pointers.size === 2) this.pinch();
      else if (event.pointerType === "touch") this.readAt(this.moves(event));
      else this.pan(event);
    }

    pan(event) {
      const box = this.plot.getBoundingClientRect(), length = this.view[1] - this.view[0];
      const [low, high] = this.say.whole;
      const begin = clamp(this.anchors[0][1] - ((event.clientX - box.left) / box.width) * length, low, high - length);
      if (Math.abs(begin - this.view[0]) * (box.width / length) >= 1) this.look(begin, begin + length);
    }

    pinch() {
      const box = this.plot.getBoundingClientRect();
      const [[one, first], [other, second]] = this.anchors;
      const a = (this.pointers.get(one) - box.left) / box.width, b = (this.pointers.get(other) - box.left) / box.width;
      if (Math.abs(b - a) < 0.02) return;
      const length = clamp((second - first) / (b - a), this.say.least, this.say.whole[1] - this.say.whole[0]);
      if (!(length > 0)) return;
      const begin = (first + second) / 2 - ((a + b) / 2) * length;
      this.look(begin, begin + length);
    }

    up(event) {
      this.pointers.delete(event.pointerId);
      this.drop();
      this.grip();
    }

    drop() {
      if (!this.held) return;
      this.held.classList.remove("held");
      this.field(this.held.dataset.edge)?.dispatchEvent(new Event("change", { bubbles: true }));
      this.held = null;
    }

    field(edge) {
      return this.root.querySelector(`[data-end="${edge}"]`);
    }

    fields() {
      for (const slide of this.root.querySelectorAll("[data-slide]")) {
        slide.addEventListener("input", () => this.setEdge(slide.dataset.slide, Number(slide.value)));
        slide.addEventListener("change", () => this.field(slide.dataset.slide).dispatchEvent(new Event("change", { bubbles: true })));
      }
      for (const field of this.root.querySelectorAll("[data-end]")) field.addEventListener("input", (event) => event.isTrusted && this.typing(field));
      for (const button of this.root.querySelectorAll("[data-mark]")) button.addEventListener("click", () => this.begin(button.dataset.mark));
      for (const [k, which] of ["from", "until"].entries()) {
        for (const name of PHASES) {
          const handle = make("g", { class: "handle", "data-edge": `${name}_${which}`, "data-inward": k ? -9 : 9 }, this.plot);
          const y = this.top + 23, inward = k ? -9 : 9;  // inside its phase, so that two that meet lie side by side
          make("line", { class: "hit", x1: inward, x2: inward, y1: this.top - 6, y2: this.bottom }, handle);
          make("rect", { class: "grip", x: inward - 7, y: y - 11, width: 14, height: 22, rx: 4 }, handle);
          make("path", { class: "teeth", d: `M${inward - 2} ${y - 5}v10M${inward + 2} ${y - 5}v10` }, handle);
          this.handles.push(handle);
        }
      }
      for (const name of PHASES) {  // what was typed before the page was sent back
        const was = this.root.querySelector(`[name="${name}_was"]`).value;
        if (`${this.field(`${name}_from`).value}-${this.field(`${name}_until`).value}` !== was) this.typing(this.field(`${name}_from`));
      }
      this.told();
      this.draw();
    }

    /** Both fields of a phase as they were typed. */
    typing(field) {
      const name = field.dataset.end.split("_")[0];
      const ends = ["from", "until"].map((which) => this.typed(this.field(`${name}_${which}`).value));
      if (ends.every((each) => !Number.isNaN(each)) && ends[0] < ends[1]) this.phases[name] = ends;
      else if (["from", "until"].every((which) => !this.field(`${name}_${which}`).value.trim())) delete this.phases[name];
      this.told(name);
      this.draw();
    }

    /** A phase that was not there, where it usually lies. */
    begin(name) {
      const work = this.phases.work, [a, b] = this.view, third = (b - a) / 3, [low, high] = this.say.whole;
      const usual = {
        rest: work ? [work[0] - 180, work[0] - 60] : [a, a + third / 2],
        work: [a + third, b - third],
        recovery: work ? [work[1], work[1] + 120] : [b - third / 2, b],
      }[name].map((each) => this.snapped(clamp(each, low, high)));
      if (usual[1] - usual[0] < 1) usual[0] = Math.max(usual[1] - 30, low);
      this.phases[name] = usual;
      this.write(name);
      this.field(`${name}_from`).focus();
      this.field(`${name}_until`).dispatchEvent(new Event("change", { bubbles: true }));
    }

    /** Move one end; it pushes the phases beside it and leaves each a second at the least. */
    setEdge(edge, moment) {
      const [name, which] = edge.split("_"), place = which === "from" ? 0 : 1, [low, high] = this.say.whole;
      const span = this.phases[name] || (this.phases[name] = [this.snapped(low), this.snapped(high)]);
      let at = this.snapped(clamp(moment, low, high));
      at = place ? Math.max(at, span[0] + 1) : Math.min(at, span[1] - 1);
      const order = PHASES.filter((each) => this.phases[each]), k = order.indexOf(name);
      const beside = place ? this.phases[order[k + 1]] : this.phases[order[k - 1]];
      if (beside) {
        at = place ? Math.min(at, beside[1] - 1) : Math.max(at, beside[0] + 1);
        if (place ? at > beside[0] : at < beside[1]) {
          beside[place ? 0 : 1] = at;
          this.write(order[place ? k + 1 : k - 1]);
        }
      }
      span[place] = at;
      this.write(name);
    }

    /** A phase into its fields. */
    write(name) {
      ["from", "until"].forEach((which, k) => {
        const field = this.field(`${name}_${which}`);
        field.value = this.at(this.phases[name][k]);
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
      this.told(name);
      this.draw();
    }

    /** Sliders, lengths, and what is kept, as the phases are now. */
    told(only) {
      const { texts, names, margin } = this.say;
      for (const name of only ? [only] : PHASES) {
        const row = this.root.querySelector(`[data-fields="${name}"]`), span = this.phases[name];
        const length = span ? this.fromStart(span[1] - span[0]) : "";
        row.querySelector(".trace-lasts").textContent = span ? fill(texts.lasts, { length }) : "";
        row.querySelector("[data-mark]").hidden = !!span;
        row.querySelectorAll("[data-slide]").forEach((slide, k) => {
          slide.hidden = !span;
          if (!span) return;
          slide.value = span[k];
          slide.setAttribute("aria-valuetext", fill(texts.edge, { at: this.moment(span[k]), phase: names[name], length }));
        });
      }
      const kept = this.kept();
      this.root.querySelector(".trace-kept").textContent = kept
        ? fill(texts.kept_span, { begin: this.at(kept[0]), end: this.at(kept[1]), margin: this.fromStart(margin) })
        : texts.kept_whole;
    }
  }

  for (const root of document.querySelectorAll(".trace[data-trace]")) new Trace(root);
})();
