// A list of fields of which one is selected. Python sends `rows`, `selected`, `head`, `foot` and
// `tokens`; the list sends back `picked`. Rows are rebuilt only when they changed, so that a click
// moves the highlight and nothing else.

const part = (tag, name, text) => {
  const node = document.createElement(tag);
  if (name) node.className = name;
  if (text !== undefined) node.textContent = text;
  return node;
};

const picture = (source, name, words) => {
  const node = part("img", name);
  node.src = source;
  node.alt = words;
  return node;
};

const option = (row) => {
  const node = part("div", "row");
  node.setAttribute("role", "option");
  node.dataset.field = row.field;
  node.id = `row-${row.rank}`;
  const words = part("div", "words");
  const title = part("div", "title");
  title.append(part("b", "", row.name), part("span", "muted", row.detail ? ` ${row.detail}` : ""));
  words.append(title, part("div", "line", row.line));
  const figure = part("div", "figure");
  figure.append(part("b", "", row.figure), part("span", "muted", row.within ? ` ${row.within}` : ""));
  node.append(part("div", "rank muted", row.rank), picture(row.core, "core", row.core_words), words,
    figure, picture(row.interval, "interval", row.interval_words));
  return node;
};

const bring = (list, row) => {
  const above = row.offsetTop - list.offsetTop;
  if (above < list.scrollTop) list.scrollTop = above;
  const below = above + row.offsetHeight - list.clientHeight;
  if (below > list.scrollTop) list.scrollTop = below;
};

const mark = (list, field) => {
  const rows = [...list.children];
  const chosen = rows.find((row) => row.dataset.field === field);
  rows.forEach((row) => {
    row.setAttribute("aria-selected", String(row === chosen));
    row.tabIndex = row === (chosen ?? rows[0]) ? 0 : -1;
  });
  return chosen;
};

export default function (component) {
  const { data, parentElement, setTriggerValue } = component;
  const root = parentElement.querySelector(".fields");
  const list = root.querySelector(".list");
  Object.entries(data.tokens).forEach(([name, value]) => root.style.setProperty(name, value));
  root.querySelector(".head .figure").textContent = data.head.figure;
  root.querySelector(".head .interval").textContent = data.head.interval;
  root.querySelector(".head .words").textContent = data.head.words;
  const foot = root.querySelector(".foot");
  foot.textContent = data.foot;
  foot.hidden = !data.foot;
  list.setAttribute("aria-label", data.label);

  const now = JSON.stringify(data.rows);
  if (list.drawn !== now) {
    list.replaceChildren(...data.rows.map(option));
    list.drawn = now;
  }
  const chosen = mark(list, data.selected);
  if (chosen && list.shown !== data.selected) bring(list, chosen);
  list.shown = data.selected;

  const pick = (row) => {
    if (!row) return;
    mark(list, row.dataset.field);
    list.shown = row.dataset.field;
    setTriggerValue("picked", row.dataset.field);
  };
  list.onclick = (event) => pick(event.target.closest(".row"));
  list.onkeydown = (event) => {
    const rows = [...list.children];
    const at = rows.indexOf(event.target.closest(".row"));
    const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: rows.length - 1 }[event.key];
    if (event.key === "Enter" || event.key === " ") pick(rows[at]);
    else if (to === undefined) return;
    else rows[to]?.focus();
    event.preventDefault();
  };
}
