"use strict";
(function () {
  const byId = (id) => document.getElementById(id);
  const data = JSON.parse(byId("data").textContent);
  const view = byId("view"), paper = byId("paper"), panel = byId("panel"), find = byId("find"), hits = byId("hits");
  const sheets = Array.from(document.querySelectorAll(".sheet"));
  const places = data.elements.map(() => []);
  const lines = [];
  let shown = 0, scale = 1, left = 0, top = 0, chosen = -1, found = [], at = -1;

  function make(tag, text, kind) {
    const made = document.createElement(tag);
    if (text) made.textContent = text;
    if (kind) made.className = kind;
    return made;
  }
  const title = (n) => data.elements[n].id + (data.elements[n].label ? " " + data.elements[n].label : "");
  const findingsOf = (n) => data.findings.filter((f) => f.subject === n);

  sheets.forEach((sheet, s) => {
    byId("pick").append(new Option(data.sheets[s], s));
    const part = (kind) => Array.from(sheet.querySelector("#s" + (s + 1) + "-" + kind).children);
    const drawn = part("elements"), needs = data.lines[s];
    const tie = (parts, kind) => parts.forEach((g, i) => {
      g.classList.add("line");
      lines.push({ g: g, parts: needs[kind][i] });
    });
    tie(part("wires"), "wires");
    tie(part("dots"), "dots");
    tie(drawn.filter((g, i) => data.drawn[s][i] < 0), "others");
    data.drawn[s].forEach((n, i) => {
      if (n < 0) return;
      const g = drawn[i], count = findingsOf(n).length;
      places[n].push({ sheet: s, g: g });
      g.setAttribute("role", "button");
      g.setAttribute("tabindex", "-1");
      g.setAttribute("aria-label", g.querySelector("desc").textContent + (count ? ", findings: " + count : ""));
      g.dataset.n = n;
    });
  });

  function place() { paper.style.transform = "translate(" + left + "px," + top + "px) scale(" + scale + ")"; }
  function zoom(by, x, y) {
    const next = Math.min(12, Math.max(0.1, scale * by));
    left = x - (x - left) * next / scale; top = y - (y - top) * next / scale; scale = next; place();
  }
  const middle = (by) => zoom(by, view.clientWidth / 2, view.clientHeight / 2);
  function whole() {
    const svg = sheets[shown].querySelector("svg"), w = svg.clientWidth, h = svg.clientHeight;
    scale = Math.min(view.clientWidth / w, view.clientHeight / h) * 0.97;
    left = (view.clientWidth - w * scale) / 2; top = (view.clientHeight - h * scale) / 2; place();
  }
  function show(s) {
    shown = s; byId("pick").value = s; byId("pick").title = data.sheets[s];
    sheets.forEach((x, i) => x.classList.toggle("shown", i === s));
    whole();
  }
  function centre(g) {
    scale = Math.max(scale, 1.3); place();
    const b = g.getBoundingClientRect(), v = view.getBoundingClientRect();
    left += v.left + v.width / 2 - b.left - b.width / 2; top += v.top + v.height / 2 - b.top - b.height / 2; place();
  }

  function clear() {
    document.querySelectorAll(".chosen,.way").forEach((g) => g.classList.remove("chosen", "way"));
    paper.classList.remove("following"); chosen = -1;
  }
  function choose(n, move) {
    clear(); chosen = n;
    paper.classList.add("following");
    const way = new Set(data.elements[n].way.concat([n]));
    way.forEach((m) => places[m].forEach((p) => p.g.classList.add("way")));
    data.elements[n].nodes.forEach((m) => way.add(m));
    way.add(-2 - n);
    lines.forEach((l) => l.g.classList.toggle("way", l.parts.every((any) => any.some((all) => all.every((m) => way.has(m))))));
    places[n].forEach((p) => p.g.classList.add("chosen"));
    if (move && places[n].length) {
      const here = places[n].find((p) => p.sheet === shown) || places[n][0];
      if (here.sheet !== shown) show(here.sheet);
      centre(here.g);
    }
    tell(n);
  }
  function links(box, list) {
    list.forEach((n) => {
      const b = box.appendChild(make("button", data.elements[n].id, "link"));
      b.title = title(n);
      b.addEventListener("click", () => { choose(n, true); panel.querySelector("h2").focus(); });
    });
    return box;
  }
  function names(label, list, long) {
    if (!list.length) return;
    const box = panel.appendChild(make(long ? "details" : "section"));
    box.append(make(long ? "summary" : "h3", label + (long ? " (" + list.length + ")" : "")));
    links(box.appendChild(make("div", "", "names")), list);
  }
  function finding(f, here) {
    const box = panel.appendChild(make("article", "", "row " + f.severity));
    const head = box.appendChild(make("h3", f.number + " " + f.severity + (f.accepted ? ", accepted" : "")));
    if (f.subject >= 0 && f.subject !== here) links(head, [f.subject]);
    box.append(make("p", f.message));
    if (f.mend) box.append(make("p", "Mend: " + f.mend));
    if (f.accepted) box.append(make("p", "Accepted: " + f.accepted));
    const guard = f.guard.filter((n) => n !== here);
    if (guard.length) links(box.appendChild(make("p", "Guard: ")), guard);
    if (f.clause) box.append(make("small", f.clause + (f.status ? " (" + f.status + ")" : "")));
  }
  function tell(n) {
    const e = data.elements[n], own = findingsOf(n);
    panel.replaceChildren();
    const back = panel.appendChild(make("button", "All findings (" + data.findings.length + ")"));
    back.addEventListener("click", () => { overview(); panel.querySelector("h2").focus(); });
    heading(e.id + (e.label ? ": " + e.label : ""));
    byId("said").textContent = title(n) + ", findings: " + own.length;
    if (!places[n].length) panel.append(make("p", "It is on none of the sheets shown here."));
    own.forEach((f) => finding(f, n));
    const list = panel.appendChild(make("dl"));
    let before = "";
    e.facts.forEach(([term, words, to]) => {
      if (term !== before) list.append(make("dt", term));
      links(list.appendChild(make("dd", words)), to); before = term;
    });
    if (!e.way.length) panel.append(make("p", "No source reaches it."));
    names("Fed from", e.sources.filter((m) => m !== n));
    names("On the way from the sources", e.way.filter((m) => m !== n), true);
    byId("facts").scrollTop = 0;
  }
  function heading(text) { panel.appendChild(make("h2", text)).tabIndex = -1; }
  function overview() {
    clear(); panel.replaceChildren(); heading("Findings (" + data.findings.length + ")");
    if (!data.findings.length) panel.append(make("p", "No findings are marked here."));
    data.findings.forEach((f) => finding(f, -1));
    byId("facts").scrollTop = 0;
  }

  function search() {
    const asked = find.value.trim().toLowerCase();
    const rank = (e) => e.id.toLowerCase() === asked ? 0 : e.id.toLowerCase().startsWith(asked) ? 1 : 2;
    found = !asked ? [] : data.elements.map((e, n) => n).filter((n) => title(n).toLowerCase().includes(asked))
      .sort((a, b) => rank(data.elements[a]) - rank(data.elements[b]) || a - b).slice(0, 40);
    hits.replaceChildren(...found.map((n, i) => {
      const li = make("li", title(n));
      li.id = "hit-" + i; li.setAttribute("role", "option");
      li.addEventListener("pointerdown", (e) => { e.preventDefault(); mark(i); close(); });
      return li;
    }));
    at = -1; hits.hidden = !found.length; find.setAttribute("aria-expanded", String(!!found.length));
    if (found.length) mark(0);
  }
  function mark(i) {
    at = (i + found.length) % found.length;
    Array.from(hits.children).forEach((li, k) => li.setAttribute("aria-selected", String(k === at)));
    hits.children[at].scrollIntoView({ block: "nearest" });
    find.setAttribute("aria-activedescendant", "hit-" + at);
    choose(found[at], true);
  }
  function close() { hits.hidden = true; find.setAttribute("aria-expanded", "false"); find.removeAttribute("aria-activedescendant"); }
  find.addEventListener("input", search);
  find.addEventListener("blur", close);
  find.addEventListener("keydown", (e) => {
    if (e.key === "ArrowDown" && found.length) { hits.hidden = false; mark(at + 1); e.preventDefault(); }
    else if (e.key === "ArrowUp" && found.length) { hits.hidden = false; mark(at - 1); e.preventDefault(); }
    else if (e.key === "Enter" && found.length) { close(); mark(at); hits.hidden = true; }
    else if (e.key === "Escape") close();
  });

  function neighbour(g, key) {
    const c = (x) => { const b = x.getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]; };
    const [x, y] = c(g), across = key === "ArrowLeft" || key === "ArrowRight", sign = key === "ArrowLeft" || key === "ArrowUp" ? -1 : 1;
    let best = null, least = Infinity;
    sheets[shown].querySelectorAll(".el").forEach((o) => {
      const [p, q] = c(o), along = sign * (across ? p - x : q - y), off = Math.abs(across ? q - y : p - x);
      if (o !== g && along > 1 && along + 3 * off < least) { least = along + 3 * off; best = o; }
    });
    return best;
  }
  view.addEventListener("keydown", (e) => {
    const g = e.target.closest(".el"), pan = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] }[e.key];
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    if (g && pan) { const o = neighbour(g, e.key); if (o) { o.focus({ preventScroll: true }); centre(o); } }
    else if (g && (e.key === "Enter" || e.key === " ")) choose(+g.dataset.n, false);
    else if (pan) { left += pan[0]; top += pan[1]; place(); }
    else if (e.key === "Enter") {
      const own = chosen >= 0 ? places[chosen].find((p) => p.sheet === shown) : null;
      const first = own ? own.g : sheets[shown].querySelector(".el");
      if (first) { first.focus({ preventScroll: true }); centre(first); }
    } else if (e.key === "+" || e.key === "=") middle(1.25);
    else if (e.key === "-") middle(0.8);
    else if (e.key === "0") whole();
    else if (e.key === "Escape") { if (g) view.focus(); else overview(); }
    else return;
    e.preventDefault();
  });
  view.addEventListener("wheel", (e) => {
    const v = view.getBoundingClientRect();
    zoom(Math.exp(-e.deltaY * 0.0015), e.clientX - v.left, e.clientY - v.top); e.preventDefault();
  }, { passive: false });
  const down = new Map();
  let travelled = 0;
  view.addEventListener("pointerdown", (e) => { if (!down.size) travelled = 0; down.set(e.pointerId, [e.clientX, e.clientY]); });
  window.addEventListener("pointermove", (e) => {
    const was = down.get(e.pointerId);
    if (!was) return;
    const now = [e.clientX, e.clientY], other = Array.from(down).find(([id]) => id !== e.pointerId);
    travelled += Math.hypot(now[0] - was[0], now[1] - was[1]);
    if (other) {
      const v = view.getBoundingClientRect(), o = other[1];
      const by = Math.hypot(now[0] - o[0], now[1] - o[1]) / Math.max(1, Math.hypot(was[0] - o[0], was[1] - o[1]));
      zoom(by, (now[0] + o[0]) / 2 - v.left, (now[1] + o[1]) / 2 - v.top);
    } else { left += now[0] - was[0]; top += now[1] - was[1]; place(); }
    down.set(e.pointerId, now);
  });
  const up = (e) => down.delete(e.pointerId);
  window.addEventListener("pointerup", up);
  window.addEventListener("pointercancel", up);
  view.addEventListener("click", (e) => {
    const g = e.target.closest(".el");
    if (g && g.dataset.n && travelled < 6) choose(+g.dataset.n, false);
  });
  byId("more").addEventListener("click", () => middle(1.25));
  byId("less").addEventListener("click", () => middle(0.8));
  byId("whole").addEventListener("click", whole);
  byId("pick").addEventListener("change", (e) => show(+e.target.value));
  window.addEventListener("resize", whole);
  overview(); show(0);
})();
