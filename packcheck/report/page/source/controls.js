// Buttons, keys, taps and tick boxes around the model.

const STEP = Math.PI / 12;
const TAP = 6;  // px a finger may slip

export function connect(bay, data, holder) {
  const byNumber = new Map(data.findings.map((finding) => [finding.number, finding]));
  const say = holder.querySelector(".said");
  let at = 0;

  function show(number) {
    const finding = byNumber.get(number);
    if (!finding) return false;
    at = data.findings.indexOf(finding) + 1;
    bay.goTo(finding);
    say.textContent = `${number}. ${finding.word}: ${finding.subjects.join(" - ")}`;
    for (const card of document.querySelectorAll(".card[aria-current]")) card.removeAttribute("aria-current");
    document.getElementById(`finding-${number}`)?.setAttribute("aria-current", "true");
    return true;
  }

  function step(by) {
    const count = data.findings.length;
    if (!count) return;
    const next = ((at - 1 + by) % count + count) % count;
    show(data.findings[at === 0 ? (by > 0 ? 0 : count - 1) : next].number);
  }

  function whole() {
    at = 0;
    bay.whole();
    say.textContent = "The whole bay";
  }

  for (const button of document.querySelectorAll("[data-goto]")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      if (show(Number(button.dataset.goto))) revealed(holder);
    });
  }
  const actions = {
    whole, next: () => step(1), previous: () => step(-1),
    left: () => bay.turn(-STEP, 0), right: () => bay.turn(STEP, 0), up: () => bay.turn(0, STEP),
    down: () => bay.turn(0, -STEP), nearer: () => bay.zoom(0.8), farther: () => bay.zoom(1.25),
  };
  for (const button of holder.querySelectorAll("[data-do]")) {
    button.addEventListener("click", () => actions[button.dataset.do]());
  }
  const keys = {ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "nearer", "=": "nearer",
    "-": "farther", n: "next", p: "previous", Home: "whole"};
  bay.canvas.tabIndex = 0;
  bay.canvas.setAttribute("role", "img");
  bay.canvas.setAttribute("aria-label", "The bay in 3D. Arrow keys turn it, plus and minus come nearer and go back, "
    + "N and P step through the findings, Home shows the whole bay. Every finding is also told in the text.");
  bay.canvas.addEventListener("keydown", (event) => {
    const action = keys[event.key];
    if (!action || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    actions[action]();
  });
  tapped(bay, (x, y) => { say.textContent = bay.partAt(x, y) || say.textContent; });
  kinds(bay, data, holder.querySelector(".kinds"));
  cuts(bay, data, holder);
}

function revealed(holder) {
  const box = holder.getBoundingClientRect();
  if (box.bottom < 80 || box.top > innerHeight - 80) holder.scrollIntoView({block: "start"});
}

function tapped(bay, then) {
  let down = null;
  bay.canvas.addEventListener("pointerdown", (event) => { down = [event.clientX, event.clientY]; });
  bay.canvas.addEventListener("pointerup", (event) => {
    if (down && Math.hypot(event.clientX - down[0], event.clientY - down[1]) < TAP) then(event.clientX, event.clientY);
    down = null;
  });
}

function kinds(bay, data, list) {
  for (const kind of [...new Set(data.parts.flatMap((part) => part.kinds))].sort()) {
    const box = Object.assign(document.createElement("input"), {type: "checkbox", checked: true});
    const label = document.createElement("label");
    label.append(box, ` ${kind}`);
    list.append(label);
    box.addEventListener("change", () => {
      if (box.checked) bay.hiddenKinds.delete(kind);
      else bay.hiddenKinds.add(kind);
      bay.repaint();
    });
  }
}

function cuts(bay, data, holder) {
  const choice = holder.querySelector("select");
  const slider = holder.querySelector("input[type=range]");
  const apply = () => {
    const axis = "xyz".indexOf(choice.value);
    slider.disabled = !choice.value;
    if (choice.value === "finding") bay.cutThroughFinding((slider.value - 50) / 50);
    else if (!choice.value) bay.cut(null, 0);
    else {
      const {low, high} = data.whole;
      const reach = low[axis] + (high[axis] - low[axis]) * Number(slider.value) / 100;
      bay.cut([0, 1, 2].map((k) => Number(k === axis)), reach);
    }
  };
  choice.addEventListener("change", () => {
    slider.value = choice.value === "finding" ? 50 : 60;
    apply();
  });
  slider.addEventListener("input", apply);
}
