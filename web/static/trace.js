// The trace drawn anew at every width and zoom, read by mouse, touch and keys, with phases that can be dragged.
// Without it the same picture, its links and its fields work; every text comes from the page.
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const STEPS = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400];
  const PHASES = ["rest", "work", "recovery"];
  const CLOSER = 3, WHEEL = 0.0016, SETTLED_MS = 120, DAY_S = 86400;

  const clamp = (value, low, high) => Math.min(Math.max(value, low), high);
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (all, name) => (name in values ? values[name] : all));
  const half = (value) => Math.floor(value + 0.5);
  const two = (value) => String(value).padStart(2, "0");
  const one = (value) => Math.round(value * 10) / 10;

  function make(name, values, parent) {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
    parent?.append(made);
    return made;
  }

  function show(element, there) {
    if (there) element.removeAttribute("display");
    else element.setAttribute("display", "none");
  }

  /** First place whose time is not below (or, with `above`, is over) a moment. */
  function place(time, moment, above) {
    let low = 0, high = time.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (time[middle] < moment || (above && time[middle] === moment)) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  function decoded(level) {
    const lines = {};
    for (const [name, line] of Object.entries(level.lines)) {
      const time = new Float64Array(line.t.length), value = new Float64Array(line.t.length);
      const anew = new Uint8Array(line.t.length);
      let at = 0;
      for (let i = 0; i < time.length; i++) {
        at += line.t[i];
        time[i] = at / 1000;
        value[i] = line.v[i] / line.per;
      }
      for (const i of line.b) anew[i] = 1;
      lines[name] = { time, value, anew, all: line.all };
    }
    const flags = { ...level.flags, time: Float64Array.from(level.flags.t, (each) => each / 1000) };
    return { ...level, lines, flags };
  }

  /** Of each pixel the first, lowest, highest and last value, in their order; a gap is never bridged. */
  function pathOf(line, view, width, panel) {
    const { time, value, anew } = line, scale = width / (view[1] - view[0]);
    const [, , height, low, high] = panel, tall = height / (high - low);
    const end = Math.min(place(time, view[1], true) + 1, time.length);
    const parts = [];
    let i = Math.max(place(time, view[0]) - 1, 0), begun = false;
    const at = (k) => one((time[k] - view[0]) * scale) + " " + one(height - (clamp(value[k], low, high) - low) * tall);
    while (i < end) {
      const column = Math.floor((time[i] - view[0]) * scale), first = i;
      let least = i, most = i, last = i;
      for (i++; i < end && Math.floor((time[i] - view[0]) * scale) === column; i++) {
        if (value[i] < value[least]) least = i;
        if (value[i] > value[most]) most = i;
        last = i;
      }
      parts.push(!begun || anew[first] ? "M" + at(first) + "h0" : "L" + at(first));
      begun = true;
      const [a, b] = least < most ? [least, most] : [most, least];
      if (a !== first) parts.push("L" + at(a));
      if (b !== a && b !== last) parts.push("L" + at(b));
      if (last !== first && last !== a) parts.push("L" + at(last));
    }
    return parts.join("");
  }

  class Trace {
    constructor(root) {
      this.root = root;
      this.say = JSON.parse(root.dataset.trace);
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
      if (!this.say.data) return;
      try {
        this.all = await this.fetched("");
      } catch {
        return;  // the picture that came with the page stays, and its links work
      }
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

    /** Once the view stands still, fetch it finer if the pixels can show more. */
    settle() {
      clearTimeout(this.later);
      const level = this.level(), [a, b] = this.view;
      if (level.exact || level.step <= (b - a) / this.width) return;
      this.later = setTimeout(async () => {
        this.asking?.abort();
        this.asking = new AbortController();
        try {
          this.near = await this.fetched(`?from=${a.toFixed(3)}&until=${b.toFixed(3)}`, this.asking.signal);
          this.root.dataset.level = "near";
          this.draw();
        } catch (mistake) {
          if (mistake.name !== "AbortError") this.read.textContent = this.say.texts.offline;
        }
      }, SETTLED_MS);
    }

    // ---- drawing -----------------------------------------------------------------------------------------------

    draw() {
      if (this.waiting) return;
      this.waiting = requestAnimationFrame(() => {
        this.waiting = 0;
        this.width = this.plot.clientWidth || this.plot.getBoundingClientRect().width;
        if (this.all && this.width) {
          const level = this.level();
          this.drawLines(level);
          this.drawSpans(level);
          this.drawFlags(level);
          this.drawTicks();
          this.settle();
        }
        this.drawPhases();
        this.drawCursor();
        this.root.dataset.view = this.view.map((each) => each.toFixed(3)).join(" ");
      });
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
          path = make("path", look ? { fill: `url(#${look})` } : {}, group);
        }
        path.setAttribute("d", d);
      }
      for (const group of this.named) {
        group.replaceChildren();
        for (const [a, b] of seen[group.dataset.names] || []) {
          if (Math.min(b, this.width) - Math.max(a, 0) < 100) continue;
          const x = (Math.max(a, 0) + Math.min(b, this.width)) / 2;
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
        make("text", { class: u[i] ? "ring" : "cross", x, y, dy: ".35em", "text-anchor": "middle" }, this.flagged)
          .textContent = u[i] ? "○" : "×";
      }
    }

    drawTicks() {
      const [a, b] = this.view, long = b >= 3600 || this.say.start !== null;
      const most = clamp(Math.floor(this.width / (long ? 78 : 56)), 2, 12);
      const step = STEPS.find((each) => (b - a) / each <= most - 1) || STEPS[STEPS.length - 1], y = Number(this.ticks.dataset.y);
      const room = this.picture.getBoundingClientRect().right - this.plot.getBoundingClientRect().right;
      this.ticks.replaceChildren();
      for (let k = Math.ceil(a / step); k * step <= b + 1e-9; k++) {
        const x = one(this.x(k * step)), anchor = x > this.width - 30 && room < 30 ? "end" : "middle";
        make("line", { class: "rule", x1: x, x2: x, y1: y, y2: y + 4 }, this.ticks);
        make("text", { class: "small", x, y: y + 17, "text-anchor": anchor }, this.ticks).textContent = this.fromStart(k * step);
        if (this.say.start !== null) {
          make("text", { class: "small quiet", x, y: y + 34, "text-anchor": anchor }, this.ticks).textContent = this.clock(k * step);
        }
      }
    }

    // ---- times -------------------------------------------------------------------------------------------------

    fromStart(seconds) {
      const whole = half(Math.abs(seconds)), minutes = Math.floor(whole / 60);
      const text = whole >= 3600 ? `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${two(whole % 60)}` : `${minutes}:${two(whole % 60)}`;
      return seconds < 0 && whole ? "−" + text : text;
    }

    clock(seconds) {
      const whole = (((half(seconds + this.say.start) % DAY_S) + DAY_S) % DAY_S);
      return `${two(Math.floor(whole / 3600))}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
    }

    at(seconds) {
      return this.say.start === null ? this.fromStart(seconds) : this.clock(seconds);
    }

    moment(seconds) {
      const { moment, moment_start } = this.say.texts, start = this.fromStart(seconds);
      return this.say.start === null ? fill(moment_start, { start }) : fill(moment, { clock: this.clock(seconds), start });
    }

    /** The nearest moment at which the shown clock shows a whole second. */
    snapped(seconds) {
      const lag = this.say.start === null ? 0 : this.say.start % 1;
      return Math.round(seconds + lag) - lag;
    }

    /** Seconds from the start out of a typed time; NaN where it is none, and then the server tells why. */
    typed(text) {
      const found = /^@?(?:(\d+):)?(\d{1,2}):(\d{2})(?:\s*([ap])\.?m\.?)?$/i.exec(text.trim());
      if (!found) return NaN;
      const by = this.say.start !== null, noon = found[4]?.toLowerCase();
      let parts = [found[1], found[2], found[3]].map(Number);
      if (found[1] === undefined) parts = by ? [Number(found[2]), Number(found[3]), 0] : [0, Number(found[2]), Number(found[3])];
      if (noon) parts[0] = (parts[0] % 12) + (noon === "p" ? 12 : 0);
      const seconds = parts[0] * 3600 + parts[1] * 60 + parts[2];
      if (!by) return seconds;
      const later = (((seconds - this.say.start) % DAY_S) + DAY_S) % DAY_S, last = this.say.whole[1];
      return later - last <= DAY_S - later ? later : later - DAY_S;
    }

    // ---- reading values ----------------------------------------------------------------------------------------

    decimals(value, digits) {
      return value.toFixed(digits).replace(".", this.say.decimal);
    }

    /** What stands at a moment: the value, or least and most of what one pixel or one column holds; null in a gap. */
    standing(line, moment, wide, held) {
      const { time, value, anew } = line, i = place(time, moment, true) - 1;
      let low = Infinity, high = -Infinity;
      if (i >= 0 && held && !(i + 1 >= time.length || (anew[i + 1] && time[i] < moment))) low = high = value[i];
      for (let k = place(time, moment - wide / 2); k < time.length && time[k] <= moment + wide / 2; k++) {
        low = Math.min(low, value[k]);
        high = Math.max(high, value[k]);
      }
      return low === Infinity ? null : [low, high];
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

    // ---- zooming -----------------------------------------------------------------------------------------------

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
      const handle = event.target.closest?.(".handle");
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

    // ---- phases ------------------------------------------------------------------------------------------------

    drawPhases() {
      this.width = this.width || this.plot.getBoundingClientRect().width;
      const letters = 7.2, shown = [];
      for (const name of PHASES) {
        const group = this.plot.querySelector(`[data-phase="${name}"]`), span = this.phases[name];
        if (!span && name === "work" && !this.say.editable && !Object.keys(this.phases).length) continue;
        const there = span && span[1] > this.view[0] && span[0] < this.view[1];
        show(group, there);
        if (!there) continue;
        const ends = span.map((each) => one(this.x(each))), [a, b] = ends.map((each) => clamp(each, 0, this.width));
        const bracket = group.querySelector(".bracket"), text = group.querySelector("text");
        bracket.setAttribute("x1", a);
        bracket.setAttribute("x2", b);
        group.querySelectorAll(".end").forEach((line, k) => {
          show(line, ends[k] >= 0 && ends[k] <= this.width);
          line.setAttribute("x1", ends[k]);
          line.setAttribute("x2", ends[k]);
        });
        if (this.say.editable) text.textContent = this.say.names[name];
        shown.push({ text, x: (a + b) / 2, half: (text.textContent.length * letters) / 2 });
      }
      shown.forEach((each, k) => {
        const before = shown[k - 1];
        each.x = Math.max(each.x, before ? before.x + before.half + each.half + 4 : each.half);
      });
      shown.reverse().forEach((each, k) => {
        const behind = shown[k - 1];
        each.x = Math.min(each.x, behind ? behind.x - behind.half - each.half - 4 : this.width - each.half);
        each.text.setAttribute("x", one(each.x));
      });
      this.drawKept();
      for (const handle of this.handles) {
        const [name, which] = handle.dataset.edge.split("_"), span = this.phases[name];
        const x = span ? this.x(span[which === "from" ? 0 : 1]) : -1;
        show(handle, span && x >= -1 && x <= this.width + 1);
        handle.setAttribute("transform", `translate(${one(x)} 0)`);
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
      before.setAttribute("width", one(a));
      behind.setAttribute("x", one(b));
      behind.setAttribute("width", Math.max(one(this.width - b), 0));
      const bar = this.plot.querySelector("[data-kept]");
      show(bar, kept);
      bar.setAttribute("x", one(a));
      bar.setAttribute("width", Math.max(one(b - a), 0));
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
          const handle = make("g", { class: "handle", "data-edge": `${name}_${which}` }, this.plot);
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
