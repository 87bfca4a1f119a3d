"use strict";
(() => {
  const table = document.getElementById("series");
  const body = table.tBodies[0];
  const rows = Array.from(body.rows);
  const controls = document.getElementById("controls");
  const words = document.getElementById("words");
  const action = document.getElementById("action");
  const narrow = Array.from(controls.querySelectorAll("select[data-column]"));
  const due = document.getElementById("due");
  const shown = document.getElementById("shown");
  const key = (row, column) => {
    const cell = row.cells[column];
    const text = cell.dataset.key ?? cell.textContent.trim();
    return text === "" ? null : text;
  };
  const order = (column, direction) => {
    const filled = rows.map((row) => key(row, column)).filter((value) => value !== null);
    const numbers = filled.every((value) => Number.isFinite(Number(value)));
    const compare = (a, b) => (numbers ? Number(a) - Number(b) : a.localeCompare(b, "en", { numeric: true }));
    return (one, other) => {
      const [a, b] = [key(one, column), key(other, column)];
      if (a === null || b === null) return (a === null) - (b === null);
      return direction * compare(a, b);
    };
  };
  const sort = (head, column) => {
    const direction = head.getAttribute("aria-sort") === "ascending" ? -1 : 1;
    for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", direction === 1 ? "ascending" : "descending");
    table.classList.add("sorted");
    rows.sort(order(column, direction));
    body.append(...rows);
  };
  Array.from(table.tHead.rows[0].cells).forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    button.addEventListener("click", () => sort(head, column));
    head.replaceChildren(button);
  });
  const filter = () => {
    const wanted = words.value.trim().toLowerCase();
    let count = 0;
    for (const row of rows) {
      const fits =
        (wanted === "" || `${row.textContent} ${row.dataset.codes}`.toLowerCase().includes(wanted)) &&
        (action.value === "" || row.cells[0].firstElementChild.textContent === action.value) &&
        narrow.every((select) => select.value === "" || row.dataset[select.dataset.column] === select.value.trim()) &&
        (due === null || due.value === "" || row.dataset.due === due.value);
      row.hidden = !fits;
      count += fits;
    }
    shown.textContent = `${count} of ${rows.length} series shown`;
  };
  for (const control of [words, action, due, ...narrow]) control?.addEventListener("input", filter);
  controls.addEventListener("submit", (event) => event.preventDefault());
  controls.hidden = false;
  filter();
})();
