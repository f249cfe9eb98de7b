// Reads values off the drawings of a history page at one moment, and goes closer by
// dragging or by keys. Where it goes is an address like any other. The page works without this file.
"use strict";
(() => {
  const figures = [...document.querySelectorAll(".past[data-readings]")];
  if (figures.length === 0) return;
  const minute = 60000;
  const longest = 3.16e12; // ms, a hundred years
  const made = (name) => document.createElementNS("http://www.w3.org/2000/svg", name);

  // go opens another time of the same view.
  function go(from, to) {
    if (to - from < minute || to - from > longest) return;
    const address = new URL(location.href);
    const stamp = (ms) => new Date(ms).toISOString().replace(/\.\d+Z$/, "Z");
    address.searchParams.set("from", stamp(from));
    address.searchParams.set("to", stamp(to));
    location.assign(address);
  }

  // filled puts values into a sentence with names in braces.
  const filled = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

  // unpack turns the steps between points into times.
  function unpack(line) {
    let at = 0;
    line.at = (line.steps || []).map((step) => (at += step));
    line.gaps = (line.gaps || []).map(([from, lasted, cause]) => ({ from, to: from + lasted, cause: line.causes[cause] }));
    return line;
  }

  // nearest is the place of the point that lies nearest to a time.
  function nearest(at, seconds) {
    let low = 0;
    let high = at.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (at[middle] < seconds) low = middle + 1;
      else high = middle;
    }
    return low > 0 && seconds - at[low - 1] <= at[low] - seconds ? low - 1 : low;
  }

  for (const figure of figures) {
    const data = JSON.parse(figure.dataset.readings);
    const lines = data.lines.map(unpack);
    const readout = figure.querySelector(".readout");
    const length = (data.to - data.from) / 1000;
    const place = data.zone ? { timeZone: data.zone } : {};
    const clock = new Intl.DateTimeFormat("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit", second: "2-digit", timeZoneName: "short", ...place });
    let at = length / 2; // where the cursor stands, in seconds
    let chosen = lines[0]; // the line that is pointed at

    // say reads one line at the cursor: its nearest reading, or why there is none; the
    // line that is pointed at in whole sentences, the others in short.
    function say(line) {
      const name = lines.length > 1 ? `${line.name} ` : "";
      const value = (v) => `${(v / 10 ** line.places).toFixed(line.places).replace(".", data.comma ? "," : ".")} ${line.unit}`.trim();
      const gap = line.gaps.find((g) => g.from <= at && at <= g.to);
      if (gap) return name + (line === chosen ? filled(figure.dataset.gap, { cause: gap.cause }) : figure.dataset.none);
      const i = nearest(line.at, at);
      if (i < 0 || line.at.length === 0 || Math.abs(line.at[i] - at) > Math.max(length / 60, 90)) return name + figure.dataset.none;
      const count = line.each || line.count[i];
      const off = (list) => (list ? list[i] : 0);
      const values = { value: value(line.mean[i]), count, low: value(line.mean[i] - off(line.low)), high: value(line.mean[i] + off(line.high)) };
      const apart = (line.apart || []).some(([first, last]) => first <= i && i <= last);
      const plain = line === chosen ? (count > 1 ? figure.dataset.many : figure.dataset.good) : "{value}";
      return name + filled(apart ? figure.dataset.apart : plain, values);
    }

    function show() {
      readout.textContent = [clock.format(data.from + at * 1000), ...lines.map(say)].join(" · ");
      for (const svg of figure.querySelectorAll("svg.chart")) mark(svg);
    }

    // mark draws the cursor.
    function mark(svg) {
      const [left, top, right, base] = svg.dataset.plot.split(" ").map(Number);
      let cursor = svg.querySelector(".chart-cursor");
      if (!cursor) {
        cursor = made("path");
        cursor.setAttribute("class", "chart-cursor");
        svg.append(cursor);
      }
      const x = left + (at / length) * (right - left);
      cursor.setAttribute("d", `M${x} ${top}V${base}`);
    }

    // step moves the cursor by so many points of the line that is pointed at.
    function step(n) {
      const points = chosen.at;
      if (points.length === 0) return;
      const i = Math.min(Math.max(nearest(points, at) + n, 0), points.length - 1);
      at = points[i];
      show();
    }

    // zoom goes to a part of the time around the cursor; a factor above 1 goes wider.
    function zoom(factor) {
      const part = (length * 1000 * factor) / 2;
      const middle = factor < 1 ? data.from + at * 1000 : (data.from + data.to) / 2;
      go(middle - part, middle + part);
    }

    const keys = {
      ArrowLeft: (e) => step(e.shiftKey ? -10 : -1),
      ArrowRight: (e) => step(e.shiftKey ? 10 : 1),
      Home: () => { at = 0; show(); },
      End: () => { at = length; show(); },
      "+": () => zoom(0.5),
      "=": () => zoom(0.5),
      "-": () => zoom(2),
      PageUp: () => go(2 * data.from - data.to, data.from),
      PageDown: () => go(data.to, 2 * data.to - data.from),
    };

    for (const svg of figure.querySelectorAll("svg.chart")) {
      const [left, top, right, base] = svg.dataset.plot.split(" ").map(Number);
      const line = lines[Number(svg.parentElement.dataset.line)];
      let begun = null; // where a drag began, in seconds
      let frame = null;
      const seconds = (e) => {
        const box = svg.getBoundingClientRect();
        const x = ((e.clientX - box.left) / box.width) * svg.viewBox.baseVal.width;
        return Math.min(Math.max((x - left) / (right - left), 0), 1) * length;
      };
      const draw = () => {
        const x = (t) => left + (t / length) * (right - left);
        frame.setAttribute("x", Math.min(x(begun), x(at)));
        frame.setAttribute("width", Math.abs(x(begun) - x(at)));
      };
      const drop = () => {
        if (frame) frame.remove();
        frame = begun = null;
      };
      svg.setAttribute("tabindex", "0");
      svg.addEventListener("keydown", (e) => {
        if (e.ctrlKey || e.metaKey || e.altKey) return;
        if (e.key === "Escape") drop();
        if (!keys[e.key]) return;
        e.preventDefault();
        chosen = line;
        keys[e.key](e);
      });
      svg.addEventListener("pointerdown", (e) => {
        if (e.button !== 0) return;
        chosen = line;
        at = begun = seconds(e);
        svg.setPointerCapture(e.pointerId);
        show();
      });
      svg.addEventListener("pointermove", (e) => {
        chosen = line;
        at = seconds(e);
        show();
        if (begun === null) return;
        if (!frame) {
          frame = made("rect");
          frame.setAttribute("class", "chart-drag");
          frame.setAttribute("y", top);
          frame.setAttribute("height", base - top);
          svg.append(frame);
        }
        draw();
      });
      svg.addEventListener("pointerup", (e) => {
        const from = begun;
        at = seconds(e);
        drop();
        if (from !== null && Math.abs(at - from) > length / 50) go(data.from + Math.min(from, at) * 1000, data.from + Math.max(from, at) * 1000);
      });
      svg.addEventListener("pointercancel", drop);
    }
    readout.textContent = "Point at a drawing, or tap it, to read its values.";
    readout.hidden = figure.querySelector(".how").hidden = false;
  }
})();
