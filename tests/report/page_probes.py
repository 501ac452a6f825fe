"""What a browser is asked about a page: contrast, overhangs, overlapping labels."""

from __future__ import annotations

PAPERS_INCHES = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
MARGINS_MM = 30.0  # both sides, as the style sheet's @page has them

# Every piece of visible text with its contrast to the nearest opaque background:
# relative luminance and ratio as in WCAG 2.1, success criterion 1.4.3
CONTRASTS = """
(() => {
  const channels = c => c.match(/[\\d.]+/g).map(Number);
  const light = c => {
    const [r, g, b] = channels(c).slice(0, 3).map(v => v / 255).map(
      v => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = e => {
    for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if ((channels(c)[3] ?? 1) > 0) return c;
    }
    return 'rgb(255, 255, 255)';
  };
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode.textContent.trim();
    const e = walk.currentNode.parentElement;
    if (!text) continue;
    const style = getComputedStyle(e);
    const ink = e instanceof SVGElement ? style.fill : style.color;
    const [a, b] = [light(ink), light(behind(e))].sort((x, y) => y - x);
    found.push([(a + 0.05) / (b + 0.05), text]);
  }
  return found;
})()
"""
# How far anything in a table, plot or line reaches beyond the column of text
OVERHANGS = """
(() => {
  const right = document.querySelector('main').getBoundingClientRect().right;
  return [...document.querySelectorAll('main *')].filter(e => !e.closest('defs'))
    .map(e => [e.getBoundingClientRect().right - right, e.tagName, e.textContent])
    .filter(([over]) => over > 0.5).map(row => [row[0], row[1], row[2].slice(0, 60)]);
})()
"""
OVERLAPPING_LABELS = """
(() => {
  const found = [];
  for (const svg of document.querySelectorAll('svg')) {
    const boxes = [...svg.querySelectorAll('text')].map(
      t => [t.textContent, t.getBoundingClientRect()]);
    boxes.forEach(([a, p], i) => boxes.slice(i + 1).forEach(([b, q]) => {
      if (p.left < q.right && q.left < p.right && p.top < q.bottom && q.top < p.bottom)
        found.push([a, b]);
    }));
  }
  return found;
})()
"""
