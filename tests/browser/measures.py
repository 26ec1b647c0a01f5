"""What is measured on a page in the browser, as scripts; each returns what is wrong, or a value."""

SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
"""px by which the page is wider than its window."""

OPEN_ALL = "document.querySelectorAll('details').forEach(each => { each.open = true; })"

FEWER = """() => {
  for (const more of ['article:nth-of-type(n+4)', '.pair > :nth-child(n+4)', 'tr:nth-child(n+5)',
                      '.strip:nth-child(n+8)', '.label:nth-child(n+12)', '.sheet:nth-child(n+2)']) {
    document.querySelectorAll(more).forEach(each => each.remove());
  }
}"""
"""Leaves a few of the many parts that are alike, for rules that look at each part for long."""

SMALL_TEXT = """least => {
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode.textContent.trim(), parent = walk.currentNode.parentElement;
    if (!text || ['SCRIPT', 'STYLE'].includes(parent.tagName)) continue;
    if (!parent.checkVisibility()) continue;
    const size = parseFloat(getComputedStyle(parent).fontSize);
    if (size < least) found.push(size + ' px: ' + text);
  }
  return found;
}"""
"""Shown text in letters below `least` px."""

CHART_WORDS = ".across span, .up span, .above, .on, .label"

OVERLAPS = """words => {
  const found = [];
  for (const chart of document.querySelectorAll('[role=img]')) {
    const boxes = [...chart.querySelectorAll(words)].filter(each => each.checkVisibility())
      .map(each => {
        const range = document.createRange();
        range.selectNodeContents(each);
        return [each.textContent, range.getBoundingClientRect()];
      });
    boxes.forEach(([text, a], n) => {
      for (const [other, b] of boxes.slice(n + 1)) {
        const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (wide > 0.5 && high > 1.5) {
          found.push(chart.getAttribute('aria-label').slice(0, 40) + ': ' + text + ' / ' + other);
        }
      }
      if (a.left < -0.5 || a.right > innerWidth + 0.5) found.push('out of the page: ' + text);
    });
  }
  return found;
}"""
"""Words of a chart that lie upon each other or outside the page."""

AXE = """async () => {
  const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
  const found = await axe.run(document, { runOnly: { type: 'tag', values: tags } });
  return {
    passed: found.passes.length,
    wrong: found.violations.map(each => each.id + ': ' + each.help + ' '
      + each.nodes.slice(0, 3).map(node => node.html.slice(0, 120)).join(' | ')),
  };
}"""
"""axe-core's rules for WCAG 2.0 to 2.2, levels A and AA, and its best practices."""

TABLE = """table => [...table.querySelectorAll('tbody tr')]
  .map(row => [...row.children].map(cell => cell.textContent.trim()))"""
"""A table's body as text."""
