// The trace drawn anew at every width, and its values told; ``trace_moves.js`` is the hands that move it.
// Without a script the same picture, its links and its fields work; every text comes from the page.
"use strict";
(() => {
  const { PHASES, STEPS, Numbers, clamp, decoded, fill, half, make, one, pathOf, place, show } = globalThis.ownmarkTrace;
  const SETTLED_MS = 120, NAMES_APART = 8, GRIP = 18, LOWER = 27;  // px: between names of phases, a grip with air, a row of grips

  class Drawing extends Numbers {
    constructor(root) {
      super(JSON.parse(root.dataset.trace));
      this.root = root;
      this.view = [...this.say.view];
      this.phases = this.say.phases;
      this.picture = root.querySelector(".trace-picture");
      this.plot = root.querySelector(".plot");
      this.slider = root.querySelector(".trace-cursor input");
      this.read = root.querySelector(".trace-read");
      this.flagged = this.plot.querySelector("[data-flags]");
      this.flagsShown = !!this.flagged && !this.flagged.hasAttribute("display");
      this.panels = Object.fromEntries(this.say.panels.map((panel) => [panel[0], panel]));
      this.top = this.say.panels[0][1];
      const lowest = this.say.panels[this.say.panels.length - 1];
      this.bottom = lowest[1] + lowest[2];
      this.pointers = new Map();
      this.cursor = this.view[0];
      this.coming = true;
      this.parts();
      if (this.say.editable) this.fields();
      this.load();
    }

    parts() {
      const cursor = this.plot.querySelector(".cursor");
      make("line", { y1: this.top, y2: this.bottom }, cursor);
      make("circle", { r: 4 }, cursor);
      this.mark = cursor;
      this.spans = [...this.plot.querySelectorAll("[data-spans]")];
      this.named = [...this.plot.querySelectorAll("[data-names]")];
      this.ticks = this.plot.querySelector("[data-ticks]");
      this.handles = [];
    }

    // ---- the numbers -------------------------------------------------------------------------------------------

    async load() {
      try {
        if (this.say.data) this.all = await this.fetched("");
      } catch { /* the picture that came with the page stays, and its links work */ }
      this.coming = false;
      if (!this.all) return this.sign();
      this.root.classList.add("live");
      this.root.querySelector(".trace-cursor").hidden = false;
      this.root.querySelector(".trace-help").hidden = false;
      this.ways();
      this.watch();
      this.draw();
    }

    async fetched(query, signal) {
      const answer = await fetch(this.say.data + query, { signal, credentials: "same-origin" });
      if (!answer.ok) throw new Error(String(answer.status));
      return decoded(await answer.json());
    }

    /** The finest numbers there are for the view. */
    level() {
      const [a, b] = this.view, near = this.near;
      return near && near.from <= a + 1e-6 && b <= near.until + 1e-6 && near.step < this.all.step ? near : this.all;
    }

    /** Once the view stands still, fetch it finer if the pixels can show more; what is on its way is not asked twice. */
    settle() {
      const level = this.level(), [a, b] = this.view, fine = level.exact || level.step <= (b - a) / this.width;
      const wanted = fine ? "" : `?from=${a.toFixed(3)}&until=${b.toFixed(3)}`;
      if (wanted === this.wanted) return;
      this.wanted = wanted;
      this.coming = !fine;
      clearTimeout(this.later);
      this.asking?.abort();
      if (!fine) this.later = setTimeout(() => this.nearer(wanted), SETTLED_MS);
    }

    async nearer(wanted) {
      const asking = (this.asking = new AbortController());
      try {
        const near = await this.fetched(wanted, asking.signal);
        if (asking.signal.aborted) return;
        this.near = near;
        this.coming = false;
        this.draw();
      } catch {
        if (asking.signal.aborted) return;
        this.read.textContent = this.say.texts.offline;
        this.coming = false;
        this.wanted = null;  // asked again as soon as something moves
        this.sign();
      }
    }

    /** A sign on the picture for as long as nothing more of it is on its way: neither numbers nor a drawing. */
    sign() {
      this.root.toggleAttribute("data-drawn", !this.waiting && !this.coming);
    }

    // ---- drawing -----------------------------------------------------------------------------------------------

    draw() {
      if (this.waiting) return;
      this.root.removeAttribute("data-drawn");
      this.waiting = requestAnimationFrame(() => {
        this.waiting = 0;
        this.width = this.plot.clientWidth || this.plot.getBoundingClientRect().width;
        if (this.all && this.width) {
          const level = this.level();
          this.drawLines(level);
          this.drawSpans(level);
          this.drawFlags(level);
          this.drawTicks();
          this.root.dataset.level = level.exact ? "exact" : level === this.near ? "near" : "whole";
          this.settle();
        }
        this.drawPhases();
        this.drawCursor();
        this.root.dataset.view = this.view.map((each) => each.toFixed(3)).join(" ");
        this.sign();
      });
    }

    /** A place in px as a share of the width, so that it holds on paper too, which is of another width. */
    share(x) {
      return `${Math.round((1e5 * x) / this.width) / 1e3}%`;
    }

    x(moment) {
      return ((moment - this.view[0]) / (this.view[1] - this.view[0])) * this.width;
    }

    drawLines(level) {
      for (const part of this.plot.querySelectorAll("[data-line]")) {
        const panel = this.panels[part.dataset.line], line = level.lines[part.dataset.line];
        part.setAttribute("viewBox", `0 0 ${this.width} ${panel[2]}`);
        part.querySelector("path").setAttribute("d", line ? pathOf(line, this.view, this.width, panel) : "");
      }
    }

    boxes(spans) {
      const found = [];
      for (const [begin, end] of spans) {
        if (end <= this.view[0] || begin >= this.view[1]) continue;
        const a = clamp(this.x(begin), -2, this.width + 2), b = Math.max(clamp(this.x(end), -2, this.width + 2), a + 1);
        const before = found[found.length - 1];
        if (before && a - before[1] < 0.5) before[1] = Math.max(before[1], b);
        else found.push([a, b]);
      }
      return found;
    }

    drawSpans(level) {
      const seen = {};
      for (const group of this.spans) {
        const { spans, fill: look, top, height } = group.dataset;
        const boxes = (seen[spans] = this.boxes(level.spans[spans]));
        const d = boxes.map(([a, b]) => `M${one(a)} ${top}h${one(b - a)}v${height}h${one(a - b)}z`).join("");
        let path = group.querySelector("path");
        if (!path) {
          group.replaceChildren();
          const part = make("svg", { width: "100%", height: this.bottom, preserveAspectRatio: "none" }, group);
          path = make("path", look ? { fill: `url(#${look})` } : {}, part);
        }
        path.parentNode.setAttribute("viewBox", `0 0 ${this.width} ${this.bottom}`);
        path.setAttribute("d", d);
      }
      for (const group of this.named) {
        group.replaceChildren();
        for (const [a, b] of seen[group.dataset.names] || []) {
          if (Math.min(b, this.width) - Math.max(a, 0) < 100) continue;
          const x = this.share((Math.max(a, 0) + Math.min(b, this.width)) / 2);
          const text = make("text", { class: "small on", x, y: group.dataset.y, dy: ".35em", "text-anchor": "middle" }, group);
          text.textContent = group.dataset.text;
        }
      }
    }

    drawFlags(level) {
      if (!this.flagged) return;
      show(this.flagged, this.flagsShown);
      this.flagged.replaceChildren();
      if (!this.flagsShown) return;
      const { time, v, u } = level.flags, [, top, height, low, high] = this.panels.pulse, put = new Set();
      for (let i = place(time, this.view[0]); i < time.length && time[i] <= this.view[1]; i++) {
        if (v[i] === null) continue;
        const x = Math.round(this.x(time[i])), y = Math.round(top + height - ((clamp(v[i], low, high) - low) * height) / (high - low));
        const key = x + " " + y;
        if (put.has(key)) continue;
        put.add(key);
        make("text", { class: u[i] ? "ring" : "cross", x: this.share(x), y, dy: ".35em", "text-anchor": "middle" }, this.flagged)
          .textContent = u[i] ? "○" : "×";
      }
    }

    drawTicks() {
      const [a, b] = this.view, long = b >= 3600 || this.say.start !== null;
      const most = clamp(Math.floor(this.width / (long ? 78 : 56)), 2, 12);
      const step = STEPS.find((each) => (b - a) / each <= most - 1) || STEPS[STEPS.length - 1], y = Number(this.ticks.dataset.y);
      const room = this.picture.getBoundingClientRect().right - this.plot.getBoundingClientRect().right;
      let shifted = false, last = [], before = [];
      this.ticks.replaceChildren();
      for (let k = Math.ceil(a / step); k * step <= b + 1e-9; k++) {
        const at = this.x(k * step), x = this.share(at), anchor = at > this.width - 30 && room < 30 ? "end" : "middle";
        make("line", { class: "rule", x1: x, x2: x, y1: y, y2: y + 4 }, this.ticks);
        const told = [["small", 20, this.fromStart(k * step)], ...(this.say.start === null ? [] : [["small quiet", 37, this.clock(k * step)]])];
        [before, shifted] = [last, anchor === "end"];
        last = told.map(([look, down, text]) => {
          const found = make("text", { class: look, x, y: y + down, "text-anchor": anchor }, this.ticks);
          found.textContent = text;
          return found;
        });
      }
      // Without room behind the picture the last time ends at its edge, and the one before may stand in its way.
      const side = (text, which) => text.getBoundingClientRect()[which];
      if (shifted && before.some((each, k) => side(each, "right") + 4 > side(last[k], "left"))) before.forEach((each) => each.remove());
    }


    said(moment) {
      const level = this.level(), { texts } = this.say, pixel = (this.view[1] - this.view[0]) / this.width;
      const told = [this.moment(moment)], phase = PHASES.find((each) => this.phases[each] && this.phases[each][0] <= moment && moment < this.phases[each][1]);
      if (phase) told.push(this.say.names[phase]);
      const { pulse, movement, cadence } = level.lines;
      if (this.panels.pulse) {
        const found = pulse && this.standing(pulse, moment, pulse.all ? 0 : level.step, true);
        const [low, high] = found ? found.map((each) => this.decimals(half(each), 0)) : [];
        told.push(!found ? texts.unmeasured : low === high ? fill(texts.beats, { bpm: low }) : fill(texts.beats_between, { low, high }));
        this.shown = found && found[0] === found[1] ? found[0] : null;
      }
      if (movement) {
        const found = this.standing(movement, moment, Math.max(pixel, movement.all ? 0 : level.step), false);
        const [low, high] = found ? found.map((each) => this.decimals(each, 2)) : [];
        if (found) told.push(low === high ? fill(texts.strength, { strength: low }) : fill(texts.strength_between, { low, high }));
      }
      if (cadence) {
        const found = this.standing(cadence, moment, pixel, true);
        if (found) told.push(fill(texts.cadence, { rate: this.decimals(half(found[1]), 0) }));
      }
      if (this.flagsShown) told.push(...this.saidFlags(level, moment, Math.max(pixel * 5, 0.5)));
      return told.join(" · ");
    }

    saidFlags(level, moment, near) {
      const { time, v, r } = level.flags, { texts, rules } = this.say;
      let best = -1;
      for (let i = place(time, moment - near); i < time.length && time[i] <= moment + near; i++) {
        if (best < 0 || Math.abs(time[i] - moment) < Math.abs(time[best] - moment)) best = i;
      }
      if (best < 0) return [];
      const rule = rules[r[best]];
      if (v[best] === null) return [fill(texts.flagged_none, { rule })];
      return [fill(texts.flagged, { bpm: this.decimals(half(v[best]), 0), word: texts.flagged_beats, rule })];
    }

    readAt(moment, fromSlider) {
      this.cursor = clamp(moment, ...this.view);
      this.pointed = true;
      this.read.textContent = this.said(this.cursor);
      if (!fromSlider) this.setSlider();
      this.slider.setAttribute("aria-valuetext", this.moment(this.cursor));
      this.draw();
    }

    /** Seconds of one step of the reading slider. */
    pace() {
      return Math.max(1, Math.round((this.view[1] - this.view[0]) / 600));
    }

    setSlider() {
      this.slider.max = Math.floor((this.view[1] - this.view[0]) / this.pace());
      this.slider.value = Math.round((this.cursor - this.view[0]) / this.pace());
    }

    drawCursor() {
      const inside = this.pointed && this.view[0] <= this.cursor && this.cursor <= this.view[1];
      show(this.mark, inside);
      if (!inside) return;
      const x = one(this.x(this.cursor)), [line, dot] = this.mark.children, panel = this.panels.pulse;
      line.setAttribute("x1", x);
      line.setAttribute("x2", x);
      show(dot, panel && this.shown !== null && this.shown !== undefined);
      if (panel && this.shown !== null) {
        dot.setAttribute("cx", x);
        dot.setAttribute("cy", panel[1] + panel[2] - ((clamp(this.shown, panel[3], panel[4]) - panel[3]) * panel[2]) / (panel[4] - panel[3]));
      }
    }

    drawPhases() {
      this.width = this.width || this.plot.getBoundingClientRect().width;
      const shown = [];
      for (const name of PHASES) {
        const group = this.plot.querySelector(`[data-phase="${name}"]`), span = this.phases[name];
        if (!span && name === "work" && !this.say.editable && !Object.keys(this.phases).length) continue;
        const there = span && span[1] > this.view[0] && span[0] < this.view[1];
        show(group, there);
        if (!there) continue;
        const ends = span.map((each) => one(this.x(each))), [a, b] = ends.map((each) => clamp(each, 0, this.width));
        const bracket = group.querySelector(".bracket"), text = group.querySelector("text");
        bracket.setAttribute("x1", this.share(a));
        bracket.setAttribute("x2", this.share(b));
        group.querySelectorAll(".end").forEach((line, k) => {
          show(line, ends[k] >= 0 && ends[k] <= this.width);
          line.setAttribute("x1", this.share(ends[k]));
          line.setAttribute("x2", this.share(ends[k]));
        });
        if (this.say.editable) text.textContent = this.say.names[name];
        shown.push({ text, x: (a + b) / 2, half: 0 });
      }
      for (const each of shown) each.half = each.text.getComputedTextLength() / 2 + NAMES_APART / 2;
      shown.forEach((each, k) => {
        const before = shown[k - 1];
        each.x = Math.max(each.x, before ? before.x + before.half + each.half : each.half);
      });
      shown.reverse().forEach((each, k) => {
        const behind = shown[k - 1];
        each.x = Math.min(each.x, behind ? behind.x - behind.half - each.half : this.width - each.half);
        each.text.setAttribute("x", this.share(each.x));
      });
      this.drawKept();
      this.drawHandles();
    }

    /** A grip on each end; where two would lie on each other the further one hangs lower. */
    drawHandles() {
      const placed = this.handles.map((handle) => {
        const [name, which] = handle.dataset.edge.split("_"), span = this.phases[name];
        const x = span ? this.x(span[which === "from" ? 0 : 1]) : -2;
        return { handle, x, there: span && x >= -1 && x <= this.width + 1, grip: x + Number(handle.dataset.inward) };
      });
      const rows = [];
      for (const { handle, x, there, grip } of placed.sort((a, b) => a.grip - b.grip)) {
        show(handle, there);
        if (!there) continue;
        let row = 0;
        while (rows[row] > grip - GRIP / 2 + 0.5) row++;
        rows[row] = grip + GRIP / 2;
        handle.setAttribute("transform", `translate(${one(x)} ${row * LOWER})`);
      }
    }

    kept() {
      const spans = [...Object.values(this.phases), ...this.say.beside], { margin, free, whole } = this.say;
      if (!this.phases.work) return null;
      const begin = Math.min(...spans.map((each) => each[0])), end = Math.max(...spans.map((each) => each[1]));
      const low = Math.max(begin - margin, Math.min(free[0] ?? -Infinity, begin)), high = Math.min(end + margin, Math.max(free[1] ?? Infinity, end));
      return [Math.max(low, whole[0]), Math.min(high, whole[1])];
    }

    drawKept() {
      const kept = this.kept(), [a, b] = (kept || this.view).map((each) => clamp(this.x(each), 0, this.width));
      const [before, behind] = ["before", "behind"].map((each) => this.plot.querySelector(`[data-away="${each}"]`));
      before.setAttribute("width", this.share(a));
      behind.setAttribute("x", this.share(b));
      behind.setAttribute("width", this.share(Math.max(this.width - b, 0)));
      const bar = this.plot.querySelector("[data-kept]");
      show(bar, kept);
      bar.setAttribute("x", this.share(a));
      bar.setAttribute("width", this.share(Math.max(b - a, 0)));
    }
  }

  globalThis.ownmarkTrace.Drawing = Drawing;
})();
