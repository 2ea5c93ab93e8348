// A column head becomes a button that sorts its table, numbers as numbers.

export function makeTablesSortable(root) {
  for (const table of root.querySelectorAll("table[data-sortable]")) {
    for (const [column, head] of [...table.tHead.rows[0].cells].entries()) {
      const button = document.createElement("button");
      button.type = "button";
      const paper = document.createElement("span");  // a button is not printed again on the next page
      paper.className = "paper";
      paper.ariaHidden = "true";
      paper.textContent = head.textContent;
      button.append(...head.childNodes);
      head.append(button, paper);
      button.addEventListener("click", () => sort(table, column, head));
    }
  }
}

function sort(table, column, head) {
  const rising = head.getAttribute("aria-sort") !== "ascending";
  for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", rising ? "ascending" : "descending");
  const body = table.tBodies[0];
  const key = (row) => row.cells[column].dataset.value ?? row.cells[column].textContent;
  const compare = (a, b) => {
    const [x, y] = [key(a), key(b)];
    const [m, n] = [Number(x), Number(y)];
    const order = x !== "" && y !== "" && !Number.isNaN(m) && !Number.isNaN(n) ? m - n : x.localeCompare(y);
    return rising ? order : -order;
  };
  body.append(...[...body.rows].sort(compare));
}
