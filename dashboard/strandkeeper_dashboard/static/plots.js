// Draws the trend from integers on one shared grid; the drawing made by the server stays for paper
// and for when this fails.
"use strict";

(() => {
  const figure = document.getElementById("trend");
  if (!figure || typeof Plotly === "undefined") return;

  const place = figure.querySelector(".plot");
  const drawn = figure.querySelector(".drawn-here");
  const trouble = figure.querySelector(".plot-trouble");
  const picture = document.getElementById("save-picture");
  const home = figure.dataset.chart;
  const REFRESH_MS = 20000;
  const CONFIG = {
    responsive: true,
    displaylogo: false,
    modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d"],
    toImageButtonOptions: { format: "png", scale: 2, filename: "trend" },
  };
  let shown = home;
  let last = null;
  let asked = 0;

  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();

  const levelOf = (chart, panel) => chart.axes[panel];

  // What is to spare, rounded down as everywhere.
  const spare = (line, value) => `${String(Math.floor((value - line.weakest) / 1000)).replace("-", "−")} dB to spare`;

  // Points of one line: its own times, and a hole where two of them lie too far apart.
  function points(chart, line, key) {
    const x = [];
    const y = [];
    const told = [];
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    const values = line[key];
    let before = null;
    for (let at = 0; at < values.length; at += 1) {
      const value = values[at];
      if (value === null) continue;
      const t = chart.t_s[at];
      if (before !== null && t - before > line.gap_s) {
        x.push(start + (before + 1) * 1000);
        y.push(null);
        told.push("");
      }
      x.push(start + t * 1000);
      y.push(value / line.per_unit);
      if (line.weakest !== null) told.push(spare(line, value));
      before = t;
    }
    return line.weakest === null ? { x, y } : { x, y, customdata: told };
  }

  function tracesOf(chart, line) {
    const ink = colour(line.role);
    const main = {
      ...line.trace,
      ...points(chart, line, "values"),
      line: { ...line.trace.line, color: ink },
      fillcolor: `${ink}33`,
    };
    if (!line.low.length) return [main];
    const edge = { ...line.trace, showlegend: false, hoverinfo: "skip", line: { width: 0, color: ink } };
    delete edge.hovertemplate;
    return [
      { ...edge, ...points(chart, line, "low") },
      { ...edge, ...points(chart, line, "high"), fill: "tonexty", fillcolor: `${ink}26` },
      main,
    ];
  }

  const SPAN_LOOKS = { down: ["act", 16, "solid"], silent: ["unknown", 10, "dot"], dark: ["watch", 4, "solid"] };

  function spanTraces(chart) {
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    const kinds = {};
    for (const span of chart.spans) {
      const trace = (kinds[span.kind] ??= { x: [], y: [], text: [] });
      const level = 1.5 - span.row - (span.kind === "dark" ? 0.32 : 0);
      trace.x.push(start + span.from_s * 1000, start + Math.max(span.to_s, span.from_s + 1) * 1000, null);
      trace.y.push(level, level, null);
      trace.text.push(span.text, span.text, "");
    }
    return Object.entries(kinds).map(([kind, trace]) => {
      const [ink, width, dash] = SPAN_LOOKS[kind];
      return {
        ...trace, type: "scatter", mode: "lines", yaxis: levelOf(chart, "state"), showlegend: false, hoverinfo: "text",
        line: { color: colour(ink), width, dash },
      };
    });
  }

  const LIMIT_LOOKS = { overload: ["ink", "solid"], reserve: ["watch", "dash"], sensitivity: ["act", "solid"], good: ["ink", "dot"] };

  function limitShapes(chart) {
    return chart.limits.map((limit) => {
      const [ink, dash] = LIMIT_LOOKS[limit.kind];
      return {
        type: "line", xref: "paper", x0: 0, x1: 1, yref: levelOf(chart, limit.panel), y0: limit.value / limit.per_unit, y1: limit.value / limit.per_unit,
        line: { color: colour(ink), width: limit.kind === "good" ? 1 : 1.25, dash },
        label: { text: limit.label, textposition: "end", yanchor: "bottom", font: { size: 11, color: colour("ink") } },
      };
    });
  }

  // The time to come, shaded over all panels.
  function aheadShapes(chart) {
    if (chart.ahead_s === null) return [];
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return [{
      type: "rect", yref: "paper", y0: 0, y1: 1, xref: "x", x0: start + chart.ahead_s * 1000, x1: chart.layout.xaxis.range[1],
      fillcolor: colour("sunk"), line: { width: 0 }, layer: "below",
      label: { text: place.clientWidth > 640 ? "if it goes on like this" : "", textposition: "bottom left", font: { size: 11, color: colour("soft") } },
    }];
  }

  function jumpShapes(chart) {
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return chart.jumps.map((jump) => ({
      type: "rect", xref: "x", x0: start + jump.from_s * 1000, x1: start + Math.max(jump.to_s, jump.from_s + 60) * 1000,
      yref: `${levelOf(chart, "added")} domain`, y0: 0, y1: 1, fillcolor: `${colour(jump.role)}38`,
      line: { color: colour(jump.role), width: 1 },
      label: { text: jump.label, textposition: "top left", xanchor: "right", font: { size: 11, color: colour("ink") } },
    }));
  }

  // When a limit would be met: a bar along that limit.
  function outlookTraces(chart) {
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return chart.outlooks.map((outlook) => ({
      type: "scatter", mode: "lines", yaxis: levelOf(chart, "power"), showlegend: false, hoverinfo: "text",
      x: [start + outlook.from_s * 1000, start + outlook.to_s * 1000], y: [outlook.value / 1000, outlook.value / 1000],
      text: [outlook.text, outlook.text], line: { color: colour(outlook.role), width: 8 },
    }));
  }

  // Keeps the last panel, and the time axis below it, where nothing happened.
  function quietTrace(chart) {
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return { type: "scatter", mode: "lines", yaxis: levelOf(chart, "state"), showlegend: false, hoverinfo: "skip", x: [start, start], y: [0, 2], line: { width: 0 } };
  }

  function markTraces(chart) {
    if (!chart.marks.length) return [];
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return [{
      type: "scatter", mode: "markers", yaxis: levelOf(chart, "state"), showlegend: false, hoverinfo: "text",
      x: chart.marks.map((mark) => start + mark.t_s * 1000),
      y: chart.marks.map(() => 2.25),
      text: chart.marks.map((mark) => mark.text),
      customdata: chart.marks.map((mark) => mark.id),
      meta: "marks",
      cliponaxis: false,
      marker: { symbol: "diamond", size: 9, color: colour("ink") },
    }];
  }

  function markShapes(chart) {
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return chart.marks.map((mark) => ({
      type: "line", yref: chart.crowded ? `${levelOf(chart, "state")} domain` : "paper", y0: 0, y1: 1, x0: start + mark.t_s * 1000, x1: start + mark.t_s * 1000,
      line: { color: colour("soft"), width: 1, dash: "dot" }, layer: "below",
    }));
  }

  function layoutOf(chart) {
    const axis = { gridcolor: colour("rule"), linecolor: colour("rule"), tickcolor: colour("rule") };
    const layout = { ...chart.layout };
    for (const name of Object.keys(layout)) {
      if (/^[xy]axis/.test(name)) layout[name] = { ...axis, ...layout[name] };
    }
    layout.xaxis.nticks = Math.max(3, Math.round(place.clientWidth / 110));
    layout.annotations = layout.annotations.map((note) => (note.name === "row" ? { ...note, bgcolor: colour("sheet") } : note));
    return {
      ...layout,
      paper_bgcolor: "rgba(0,0,0,0)",
      plot_bgcolor: "rgba(0,0,0,0)",
      font: { family: getComputedStyle(document.body).fontFamily, size: 12.5, color: colour("ink") },
      hoverlabel: { bgcolor: colour("sheet"), font: { color: colour("ink") } },
      shapes: [...aheadShapes(chart), ...markShapes(chart), ...jumpShapes(chart), ...limitShapes(chart)],
    };
  }

  async function draw(chart) {
    last = chart;
    const traces = [quietTrace(chart), ...chart.lines.flatMap((line) => tracesOf(chart, line)), ...outlookTraces(chart), ...spanTraces(chart), ...markTraces(chart)];
    place.hidden = false;
    await Plotly.react(place, traces, layoutOf(chart), CONFIG);
    drawn.classList.add("on-paper-only");
    trouble.hidden = true;
    if (!place.dataset.listening) {
      place.dataset.listening = "yes";
      place.on("plotly_relayout", zoomed);
      place.on("plotly_click", opened);
      picture.hidden = false;
    }
  }

  async function show(url) {
    const mine = (asked += 1);
    shown = url;
    try {
      const answer = await fetch(url, { credentials: "same-origin" });
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      const chart = await answer.json();
      if (mine === asked) await draw(chart);
    } catch (error) {
      trouble.hidden = false;
      trouble.textContent = `The plot could not be brought up to date: ${error.message}.`;
    }
  }

  function iso(moment, chart) {
    // The axis shows the station's time of day as if it were UTC.
    const text = String(moment).replace(" ", "T");
    const ms = typeof moment === "number" ? moment : Date.parse(/Z$/.test(text) ? text : `${text}Z`);
    return new Date(ms - chart.utc_offset_s * 1000).toISOString().replace(/\.\d+Z$/, "Z");
  }

  // Zooming in asks for the finer rows of that stretch; a double click goes back.
  function zoomed(change) {
    if (change["xaxis.autorange"]) {
      if (shown !== home) show(home);
      return;
    }
    const from = change["xaxis.range[0]"] ?? change["xaxis.range"]?.[0];
    const to = change["xaxis.range[1]"] ?? change["xaxis.range"]?.[1];
    if (from === undefined || to === undefined) return;
    const stretch = new URLSearchParams({ from: iso(from, last), to: iso(to, last) });
    if (Date.parse(stretch.get("to")) - Date.parse(stretch.get("from")) < 60000) return;
    for (const panel of new URLSearchParams(home.split("?")[1] ?? "").getAll("show")) stretch.append("show", panel);
    show(`${home.split("?")[0]}?${stretch}`);
  }

  // A mark leads to where the page tells of it.
  function opened(click) {
    const mark = click.points.find((point) => point.data.meta === "marks");
    const told = mark && document.getElementById(mark.customdata);
    if (!told) return;
    told.tabIndex = -1;
    location.hash = mark.customdata;
    told.focus({ preventScroll: true });
  }

  async function save() {
    const layout = { ...place.layout, paper_bgcolor: colour("sheet"), plot_bgcolor: colour("sheet") };
    const url = await Plotly.toImage({ data: place.data, layout }, { format: "png", width: place.clientWidth, height: place.clientHeight, scale: 2 });
    const link = Object.assign(document.createElement("a"), { href: url, download: `${picture.dataset.name}.png` });
    link.click();
  }
  picture.addEventListener("click", () => save().catch((error) => {
    trouble.hidden = false;
    trouble.textContent = `The picture could not be made: ${error.message}.`;
  }));

  let refreshed = Date.now();
  document.addEventListener("record-moved", () => {
    if (figure.dataset.live !== "yes" || shown !== home || Date.now() - refreshed < REFRESH_MS) return;
    refreshed = Date.now();
    show(home);
  });
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { if (last) draw(last); });
  show(home);
})();
