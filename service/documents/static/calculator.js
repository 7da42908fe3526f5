/* The calculator: takes over the form that a page was sent with, and draws it in pages of other sites.
   Every text goes in as text. Nobody is remembered, nothing is kept. */
(() => {
  "use strict";

  const TAG = "litrewise-calculator";
  const SVG = "http://www.w3.org/2000/svg";
  const PAUSE_MS = 150;
  // The second half of the form, by whose change units change too.
  const OF_UNITS = ["size", "currency"];
  const COLOURS = {
    energy: "#b3541e", water: "#2274a5", salt: "#7d8ca3", filtration: "#4b6b3a", additives: "#8a5a9e",
    testing: "#b0892b", food: "#a23b52", wear: "#5b5247", other: "#8d8d86", reserve: "#c4c0b2",
  };
  const REFUSED = {
    en: "The calculator cannot be shown here: this page may not ask for it with its key, or the service cannot be reached.",
    de: "Der Rechner kann hier nicht gezeigt werden: Diese Seite darf ihn mit ihrem Schlüssel nicht nutzen, oder der Dienst ist nicht erreichbar.",
    fr: "Le calculateur ne peut pas être affiché ici : cette page n’a pas le droit de l’utiliser avec sa clé, ou le service est injoignable.",
  };
  const CSS = `
:host { display: block; color: inherit; font: inherit; font-variant-numeric: tabular-nums; line-height: 1.5; }
* { box-sizing: border-box; }
fieldset { border: 0; border-top: 1px solid; margin: 0 0 1rem; padding: .5rem 0 0; min-width: 0; }
legend { font-weight: 600; padding: 0 .5rem 0 0; }
.fields { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(19rem, 100%), 1fr)); gap: .5rem 2rem; }
.field { display: grid; grid-template-columns: 1fr 11rem; gap: 0 .75rem; align-items: baseline; } .field p { grid-column: 1 / -1; }
.typed { display: flex; gap: .5rem; align-items: baseline; }
input, select, button { font: inherit; color: inherit; background: transparent; border: 1px solid; border-radius: 2px; padding: .35rem .5rem; min-width: 0; min-height: 2.25rem; }
input, select { width: 100%; } option { color: #17323a; background: #fff; }
.unit { flex: none; } .hint { font-size: .875em; margin: .2rem 0 0; }
.wrong input, .wrong select { border-width: 2px; } .fault { font-weight: 600; margin: .2rem 0 0; }
summary { cursor: pointer; padding: .35rem 0; } .lead { font-size: 1.2em; } p, li { max-width: 42rem; }
.wide { overflow-x: auto; } pre { font-size: .8125em; }
table { border-collapse: collapse; } caption { text-align: start; } th, td { text-align: start; padding: .25rem .6rem .25rem 0; border-bottom: 1px solid; font-weight: 400; }
thead th, tfoot th, tfoot td { font-weight: 600; } .figure { text-align: end; white-space: nowrap; }
dl.pairs { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(9rem, 100%), 1fr)); gap: .2rem 1rem; } dd { margin: 0; }
svg { width: 100%; min-width: 30rem; max-width: 60rem; height: auto; fill: currentColor; }
:focus-visible { outline: 3px solid; outline-offset: 2px; }`;

  const script = document.currentScript;
  const home = script && script.src ? new URL(script.src).origin : location.origin;

  // -- drawing ---------------------------------------------------------------

  function put(node, attributes, children) {
    for (const [name, value] of Object.entries(attributes || {})) {
      if (value !== undefined && value !== null && value !== false && value !== "") node.setAttribute(name, value);
    }
    node.append(...children.filter((one) => one !== null && one !== undefined && one !== ""));
    return node;
  }

  const el = (tag, attributes, ...children) => put(document.createElement(tag), attributes, children);
  const draw = (tag, attributes, ...children) => put(document.createElementNS(SVG, tag), attributes, children);

  /* Round amounts, three to seven, from nothing to at least the highest. */
  function scale(highest) {
    const rough = (highest || 1) / 4;
    const power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((one) => one * power).find((one) => one >= rough * (1 - 1e-9));
    const count = Math.max(1, Math.ceil((highest || 1) / step - 1e-9));
    return Array.from({ length: count + 1 }, (_, at) => at * step);
  }

  /* Where each part of each bar lies, in the units of the drawing; the amounts stay as they are. */
  function bars(chart, left, right, bottom, height) {
    const step = (right - left) / Math.max(chart.labels.length, 1);
    const width = step * (step > 8 ? 0.72 : 0.9);
    const series = chart.series.filter((one) => one.amounts.some((amount) => Number(amount) !== 0));
    const sums = chart.labels.map((_, at) => series.reduce((sum, one) => sum + Math.max(Number(one.amounts[at]), 0), 0));
    const ticks = scale(Math.max(0, ...sums));
    const high = ticks[ticks.length - 1];
    const y = (amount) => bottom - (amount / high) * height;
    const parts = [];
    chart.labels.forEach((label, at) => {
      let up = 0;
      for (const one of series) {
        const amount = Number(one.amounts[at]);
        if (!(amount > 0)) continue;
        const top = y(up + amount);
        const tall = Math.max(y(up) - top - 1, 0.6);
        parts.push({ key: one.key, x: left + step * at + (step - width) / 2, y: top, width, height: tall, text: `${one.name}, ${label}: ${one.texts[at]}` });
        up += amount;
      }
    });
    return { parts, ticks, series, step, y };
  }

  /* The palest colour has an outline. */
  const look = (key) => ({
    class: `part ${key}`, fill: COLOURS[key] || COLOURS.other,
    stroke: key === "reserve" && "currentColor", "stroke-width": key === "reserve" && 0.75,
  });

  function chartOf(chart, language, id) {
    const left = 84, right = 600, top = 14, bottom = 270;
    const found = bars(chart, left, right, bottom, bottom - top);
    const places = Math.max(0, -Math.floor(Math.log10(found.ticks[1]) + 1e-9));
    const money = new Intl.NumberFormat(language, {
      style: "currency", currency: chart.currency, minimumFractionDigits: places, maximumFractionDigits: places,
    });
    const near = (value) => Math.round(value * 100) / 100;
    const every = Math.ceil(40 / found.step);
    return draw("svg", { class: "chart", viewBox: "0 0 760 300", role: "img", "aria-labelledby": `${id}-t ${id}-d`, "font-size": 13 },
      draw("title", { id: `${id}-t` }, chart.title),
      draw("desc", { id: `${id}-d` }, chart.description),
      ...found.ticks.flatMap((tick) => [
        draw("line", { class: tick ? "grid" : "grid zero", x1: left, x2: right, y1: near(found.y(tick)), y2: near(found.y(tick)), stroke: "currentColor", "stroke-opacity": tick ? 0.25 : 1 }),
        draw("text", { x: left - 8, y: near(found.y(tick) + 4.5), "text-anchor": "end" }, money.format(tick)),
      ]),
      ...found.parts.map((part) =>
        draw("rect", { ...look(part.key), x: near(part.x), y: near(part.y), width: near(part.width), height: near(part.height) },
          draw("title", {}, part.text))),
      ...chart.labels.map((label, at) => at % every === 0
        ? draw("text", { x: near(left + found.step * (at + 0.5)), y: 290, "text-anchor": "middle" }, label) : null),
      ...found.series.slice().reverse().flatMap((one, at) => [
        draw("rect", { ...look(one.key), x: right + 20, y: top + 22 * at, width: 12, height: 12 }),
        draw("text", { x: right + 40, y: top + 22 * at + 11 }, one.name),
      ]));
  }

  function tableOf(name, head, rows, foot, caption) {
    const cells = (row) => row.cells.map((cell) => el("td", { class: "figure" }, cell));
    const row = (one) => el("tr", { class: one.kind && `by-${one.kind}` }, el("th", { scope: "row" }, one.name), ...cells(one));
    return el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": name },
      el("table", {},
        caption ? el("caption", {}, caption) : null,
        el("thead", {}, el("tr", {}, ...head.map((one, at) => el("th", { scope: "col", class: at && "figure" }, one)))),
        el("tbody", {}, ...rows.map(row)),
        foot ? el("tfoot", {}, row(foot)) : null));
  }

  const texts = (items) => el("ul", {}, ...items.map((one) => el("li", { lang: one.lang }, one.text)));
  const folded = (summary, kind, ...inside) => el("details", { class: kind }, el("summary", {}, summary), ...inside);
  const source = (text) => (text ? el("span", { class: "source", lang: "en-GB" }, text) : null);

  function stepOf(step) {
    return el("li", {}, el("span", { lang: step.lang }, step.text), " ",
      step.result ? el("strong", {}, step.result) : null, " ",
      step.inputs ? el("span", { class: "quiet", lang: "en-GB" }, step.inputs) : null, " ", source(step.source));
  }

  /* Everything below the sentence, as the server draws it without a script. */
  function answerOf(view, words, options) {
    const { heading, link, focus } = options;
    const h = (text) => el(heading, {}, text);
    const a = view.answer, c = view.compare;
    const found = [];
    if (view.faults.length) {
      found.push(el("ul", { class: "faults" }, ...view.faults.map((fault) => {
        if (!fault.field) return el("li", { lang: fault.lang }, fault.text);
        const to = el("a", { href: `#f-${fault.field}` }, fault.text);
        to.addEventListener("click", (event) => { event.preventDefault(); focus(fault.field); });
        return el("li", { lang: fault.lang }, to);
      })));
    }
    if (c) found.push(h(c.title), tableOf(c.title, c.head, c.rows, c.total));
    if (!a) return found;
    if (a.chart) {
      found.push(h(words.by_month),
        el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": words.by_month }, chartOf(a.chart, view.language, "lw-chart")),
        tableOf(a.table.caption, a.table.head, a.table.rows, a.table.foot, a.table.caption),
        h(words.lines),
        tableOf(words.lines, [words.line_name, words.line_used, words.line_total],
          a.lines.map((line) => ({ name: line.name, cells: [line.used, line.total] }))),
        ...a.lines.map((line) => folded(line.heading, "workings", el("ol", {}, ...line.workings.map(stepOf)))));
    }
    found.push(h(words.amounts),
      el("dl", { class: "pairs" }, ...a.amounts.flatMap((one) => [el("dt", {}, one.name), el("dd", {}, one.text)])));
    if (a.left_out.length) found.push(h(words.left_out), texts(a.left_out));
    found.push(h(words.assumptions), texts(a.assumptions.filled),
      folded(words.assumed_models, "", el("dl", { class: "values" }, ...a.assumptions.models.flatMap((one) => [
        el("dt", { lang: one.lang }, one.text), el("dd", {}, one.value, " ", source(one.source))]))));
    if (a.notes.length) found.push(h(words.notes), texts(a.notes));
    if (a.cautions.length) found.push(h(words.cautions), texts(a.cautions));
    if (link) {
      const to = el("a", { class: "link", href: link }, words.link);
      found.push(h(words.link), el("p", {}, to, " ", copyOf(link, words.copy_link, words.copied)), el("p", { class: "quiet" }, words.link_hint));
    }
    found.push(folded(words.request, "", el("p", { class: "quiet" }, words.request_hint),
      el("pre", { class: "wide", tabindex: 0 }, JSON.stringify(view.request, null, 2))),
    el("p", { class: "quiet notice", lang: a.notice.lang }, a.notice.text));
    return found;
  }

  function copyOf(link, text, copied) {
    if (!navigator.clipboard) return null;
    const button = el("button", { type: "button", class: "copy" }, text);
    const told = el("span", { role: "status" });
    button.addEventListener("click", async () => {
      try {
        await navigator.clipboard.writeText(link);
        told.textContent = copied;
      } catch { told.textContent = link; }
    });
    return el("span", {}, button, " ", told);
  }

  // -- the form ----------------------------------------------------------------

  function fieldOf(field) {
    const id = `f-${field.name}`;
    const about = [field.unit && `u-${field.name}`, field.hint && `h-${field.name}`].filter(Boolean).join(" ");
    const input = field.options
      ? el("select", { id, name: field.name, "aria-describedby": about }, ...field.options.map((one) => {
        const option = el("option", {}, one.text);
        option.value = one.value;
        option.selected = one.chosen;
        return option;
      }))
      : el("input", { id, name: field.name, value: field.value, type: "text", maxlength: field.longest, autocomplete: "off", inputmode: field.kind === "number" && "decimal", "aria-describedby": about });
    return el("div", { class: "field" }, el("label", { for: id }, field.label),
      el("span", { class: "typed" }, input, field.unit ? el("span", { class: "unit", id: `u-${field.name}` }, field.unit) : null),
      field.hint ? el("p", { class: "hint", id: `h-${field.name}` }, field.hint) : null);
  }

  const setOf = (set) => el("fieldset", { class: "set" }, el("legend", {}, set.title), el("div", { class: "fields" }, ...set.fields.map(fieldOf)));

  function formOf(view) {
    const w = view.words;
    return el("form", { class: "questions", "aria-label": w.form_name },
      ...view.form.questions.map(setOf),
      folded(w.more, "more", el("p", { class: "quiet" }, w.more_hint), ...view.form.groups.map(setOf)),
      folded(w.compare, "more", el("p", { class: "quiet" }, w.compare_hint), ...view.form.variant.questions.map(setOf),
        folded(w.more, "more", ...view.form.variant.groups.map(setOf))));
  }

  /* What is typed, as the address holds it; what a variant leaves empty is as in the first tank. */
  function typed(pairs) {
    const query = new URLSearchParams();
    for (const [name, value] of pairs) if (value !== "" || !name.startsWith("b_")) query.append(name, value);
    return query;
  }

  function mark(form, faults) {
    for (const old of form.querySelectorAll(".fault")) old.remove();
    for (const field of form.querySelectorAll(".field")) {
      const input = field.querySelector("input, select");
      const own = faults.filter((fault) => fault.field === input.name);
      const id = `e-${input.name}`;
      const about = (input.getAttribute("aria-describedby") || "").split(" ").filter((one) => one && one !== id);
      field.classList.toggle("wrong", own.length > 0);
      input.removeAttribute("aria-invalid");
      if (own.length) {
        about.push(id);
        input.setAttribute("aria-invalid", "true");
        field.append(el("p", { class: "fault", id }, ...own.map((fault) => el("span", { lang: fault.lang }, fault.text))));
      }
      if (about.length) input.setAttribute("aria-describedby", about.join(" "));
      else input.removeAttribute("aria-describedby");
    }
  }

  function units(root, form) {
    for (const set of [...form.questions, ...form.groups, ...form.variant.questions, ...form.variant.groups]) {
      for (const field of set.fields) {
        const unit = root.querySelector(`#u-${field.name}`);
        if (unit) unit.textContent = field.unit;
      }
    }
  }

  /* Ask whenever something is typed, after a pause; an older question is given up. */
  function alive(root, form, answer, options) {
    const said = answer.querySelector(".sentence"), drawn = answer.querySelector(".drawn");
    let words = options.words, timer = 0, running = null;
    const focus = (name) => {
      const input = root.querySelector(`#f-${name}`);
      if (!input) return;
      for (let one = input.parentElement; one && one !== form; one = one.parentElement) if (one.tagName === "DETAILS") one.open = true;
      input.focus();
    };
    function show(view) {
      words = view.words || words;
      const open = new Set(Array.from(drawn.querySelectorAll("details[open] > summary"), (one) => one.textContent));
      drawn.replaceChildren(...answerOf(view, words, { heading: options.heading, focus, link: options.linked && new URL(view.link, home).href }));
      for (const summary of drawn.querySelectorAll("summary")) summary.parentElement.open = open.has(summary.textContent);
      if (said.textContent !== view.status) said.textContent = view.status;
      mark(form, view.faults);
      if (view.form) units(root, view.form);
      if (options.shown) options.shown(view);
    }
    async function ask(whole) {
      if (running) running.abort();
      const mine = running = new AbortController();
      const query = typed(new FormData(form));
      if (words && !whole) query.set("part", "answer");
      answer.setAttribute("aria-busy", "true");
      try {
        show(await options.fetch(query, mine.signal));
      } catch (error) {
        if (error.name !== "AbortError") said.textContent = words ? words.failed : REFUSED.en;
      } finally {
        if (running === mine) answer.removeAttribute("aria-busy");
      }
    }
    const soon = (event) => {
      clearTimeout(timer);
      const whole = OF_UNITS.includes(event.target.name);
      timer = setTimeout(() => ask(whole), PAUSE_MS);
    };
    form.addEventListener("input", soon);
    form.addEventListener("submit", (event) => { event.preventDefault(); clearTimeout(timer); ask(false); });
    return show;
  }

  async function fetched(address, query, signal, headers) {
    const answer = await fetch(`${address}?${query}`, { signal, headers: { Accept: "application/json", ...headers }, credentials: "omit", cache: "no-store" });
    if (!answer.ok) throw new Error(String(answer.status));
    return answer.json();
  }

  // -- the page that the server drew --------------------------------------------

  function takeOver() {
    const form = document.querySelector(".calculator form.questions"), answer = document.querySelector("#answer");
    if (!form || !answer) return;
    alive(document, form, answer, {
      heading: "h2", linked: true, words: null,
      fetch: (query, signal) => fetched("/calculator", query, signal),
      shown: (view) => history.replaceState(null, "", view.link),
    });
    const link = answer.querySelector("a.link");
    const button = link && copyOf(link.href, link.dataset.copy, link.dataset.copied);
    if (button) link.after(" ", button);
  }

  // -- the element in pages of other sites ----------------------------------------

  class Calculator extends HTMLElement {
    connectedCallback() {
      if (this.shadowRoot) return;
      const root = this.attachShadow({ mode: "open" });
      const sheet = new CSSStyleSheet();
      sheet.replaceSync(CSS);
      root.adoptedStyleSheets = [sheet];
      this.start(root);
    }

    async start(root) {
      const key = this.getAttribute("key") || (script && script.dataset.key);
      const near = this.closest("[lang]");
      const language = this.getAttribute("language") || { d: "de", f: "fr" }[(near ? near.lang : "").slice(0, 1).toLowerCase()] || "";
      const kept = [["language", language], ["currency", this.getAttribute("currency")], ["routine", this.getAttribute("routine")]].filter(([, value]) => value);
      const ask = (query, signal) => {
        for (const [name, value] of kept) if (!query.has(name)) query.append(name, value);
        return fetched(`${home}/embed/calculator`, query, signal, key ? { Authorization: `Bearer ${key}` } : {});
      };
      try {
        const view = await ask(new URLSearchParams());
        const form = formOf(view);
        const answer = el("section", { class: "answer", "aria-label": view.words.answer }, el("p", { class: "sentence lead", role: "status" }), el("div", { class: "drawn" }));
        root.replaceChildren(el("div", { lang: view.language, dir: view.direction }, el("p", {}, view.words.lead), form, answer));
        alive(root, form, answer, { heading: "h3", linked: !this.hasAttribute("routine"), words: view.words, fetch: ask })(view);
      } catch {
        root.replaceChildren(el("p", { role: "status" }, REFUSED[language.slice(0, 2)] || REFUSED.en));
      }
    }
  }

  if (typeof module === "object" && module.exports) {
    module.exports = { scale, bars, typed };
    return;
  }
  if (!customElements.get(TAG)) customElements.define(TAG, Calculator);
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", takeOver);
  else takeOver();
})();
