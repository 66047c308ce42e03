// Draws the trend from integers on one shared grid; the drawing made by the server stays for paper
// and for when this fails.
"use strict";

(() => {
  const figure = document.getElementById("trend");
  if (!figure || typeof Plotly === "undefined") return;

  const place = figure.querySelector(".plot");
  const drawn = figure.querySelector(".drawn-here");
  const trouble = figure.querySelector(".plot-trouble");
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

  // Points of one line: its own times, and a hole where two of them lie too far apart.
  function points(chart, line, key) {
    const x = [];
    const y = [];
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
      }
      x.push(start + t * 1000);
      y.push(value / line.per_unit);
      before = t;
    }
    return { x, y };
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
        ...trace, type: "scatter", mode: "lines", yaxis: "y4", showlegend: false, hoverinfo: "text",
        line: { color: colour(ink), width, dash },
      };
    });
  }

  const LIMIT_LOOKS = { overload: ["ink", "solid"], reserve: ["watch", "dash"], sensitivity: ["act", "solid"] };

  function limitShapes(chart) {
    return chart.limits.map((limit) => {
      const [ink, dash] = LIMIT_LOOKS[limit.kind];
      return {
        type: "line", xref: "paper", x0: 0, x1: 1, yref: "y", y0: limit.value / 1000, y1: limit.value / 1000,
        line: { color: colour(ink), width: 1.25, dash },
        label: { text: limit.label, textposition: "end", yanchor: "bottom", font: { size: 11, color: colour("ink") } },
      };
    });
  }

  // Keeps the last panel, and the time axis below it, where nothing happened.
  function quietTrace(chart) {
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return { type: "scatter", mode: "lines", yaxis: "y4", showlegend: false, hoverinfo: "skip", x: [start, start], y: [0, 2], line: { width: 0 } };
  }

  function markTraces(chart) {
    if (!chart.marks.length) return [];
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return [{
      type: "scatter", mode: "markers", yaxis: "y4", showlegend: false, hoverinfo: "text",
      x: chart.marks.map((mark) => start + mark.t_s * 1000),
      y: chart.marks.map(() => 2),
      text: chart.marks.map((mark) => mark.text),
      cliponaxis: false,
      marker: { symbol: "diamond", size: 9, color: colour("ink") },
    }];
  }

  function markShapes(chart) {
    const start = chart.t0_ms + chart.utc_offset_s * 1000;
    return chart.marks.map((mark) => ({
      type: "line", yref: "paper", y0: 0, y1: 0.97, x0: start + mark.t_s * 1000, x1: start + mark.t_s * 1000,
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
      shapes: [...markShapes(chart), ...limitShapes(chart)],
    };
  }

  async function draw(chart) {
    last = chart;
    const traces = [quietTrace(chart), ...chart.lines.flatMap((line) => tracesOf(chart, line)), ...spanTraces(chart), ...markTraces(chart)];
    place.hidden = false;
    await Plotly.react(place, traces, layoutOf(chart), CONFIG);
    drawn.classList.add("on-paper-only");
    trouble.hidden = true;
    if (!place.dataset.listening) {
      place.dataset.listening = "yes";
      place.on("plotly_relayout", zoomed);
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
    show(`${home.split("?")[0]}?${stretch}`);
  }

  let refreshed = Date.now();
  document.addEventListener("record-moved", () => {
    if (figure.dataset.live !== "yes" || shown !== home || Date.now() - refreshed < REFRESH_MS) return;
    refreshed = Date.now();
    show(home);
  });
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { if (last) draw(last); });
  show(home);
})();
