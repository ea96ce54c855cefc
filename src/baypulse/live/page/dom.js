// Small helpers for elements; every text goes in as text.

export const by = (id) => document.getElementById(id);

export function make(tag, attributes = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...inside);
  return element;
}

export function list(id, texts) {
  by(id).replaceChildren(...texts.map((text) => make("li", {}, text)));
}

// A drawing that the server made, as elements.
export function picture(id, text) {
  const drawn = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  by(id).replaceChildren(document.importNode(drawn, true));
}
