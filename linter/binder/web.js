"use strict";
(() => {
  const all = (what, of = document) => Array.from(of.querySelectorAll(what));
  const find = document.getElementById("find"), said = document.getElementById("said");
  const plain = text => text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
  const rows = all("tbody tr, .labels div").map(row => ({ row, text: plain(row.textContent) }));
  const holders = all("table, .labels").map(table => ({ table, rows: all("tbody tr, .labels > div", table) }));
  const parts = all("main > section");

  const search = () => {
    const words = plain(find.value).split(/\s+/).filter(Boolean);
    let count = 0;
    for (const { row, text } of rows) {
      const hit = words.every(w => text.includes(w));
      row.classList.toggle("away", !hit);
      count += hit;
    }
    for (const { table, rows: own } of holders) {
      const hold = table.closest("[data-hold]") || table;
      hold.classList.toggle("away", words.length > 0 && own.every(r => r.classList.contains("away")));
    }
    for (const part of parts) {
      const own = holders.filter(h => part.contains(h.table));
      const nothing = own.every(h => (h.table.closest("[data-hold]") || h.table).classList.contains("away"));
      part.classList.toggle("away", words.length > 0 && nothing);
    }
    said.textContent = words.length ? `${count} line${count === 1 ? "" : "s"}` : "";
  };
  find.addEventListener("input", search);
  addEventListener("keydown", e => {
    if (e.key === "/" && document.activeElement !== find) { e.preventDefault(); find.focus(); }
    if (e.key === "Escape" && document.activeElement === find) { find.value = ""; search(); }
  });

  const order = (a, b) => a.localeCompare(b, undefined, { numeric: true, sensitivity: "base" });
  for (const table of all("table[data-sort]")) {
    const heads = all("thead th", table), body = table.tBodies[0];
    heads.forEach((head, place) => {
      head.querySelector("button").addEventListener("click", () => {
        const down = head.getAttribute("aria-sort") === "ascending";
        heads.forEach(h => h.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        const of = row => row.cells[place], sign = down ? -1 : 1;
        // what has no figure stands last either way, sums below everything
        const key = row => { const v = of(row).dataset.v; return v === undefined ? null : Number(v); };
        const figures = head.classList.contains("n");
        const sorted = Array.from(body.rows).sort((a, b) => {
          const sums = a.classList.contains("strong") - b.classList.contains("strong");
          if (sums) return sums;
          if (figures) {
            const x = key(a), y = key(b);
            if (x === null || y === null) return (x === null) - (y === null);
            return sign * (x - y);
          }
          const x = of(a).textContent, y = of(b).textContent;
          if (!x || !y) return (x === "") - (y === "");
          return sign * order(x, y);
        });
        body.append(...sorted);
      });
    });
  }
})();
