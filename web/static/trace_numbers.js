// What the trace's scripts share: numbers as they are sent, lines of them, and times as people read them.
"use strict";
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const STEPS = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400];
  const PHASES = ["rest", "work", "recovery"];
  const DAY_S = 86400;

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

  /** Times of one recording, and what stands at a moment of it. */
  class Numbers {
    /** say : what the page tells of the recording */
    constructor(say) {
      this.say = say;
    }

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
  }

  globalThis.ownmarkTrace = { PHASES, STEPS, Numbers, clamp, decoded, fill, half, make, one, pathOf, place, show };
})();
