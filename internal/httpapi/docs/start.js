// The viewer's own greys and colours are too faint on its own grounds for
// WCAG 2 AA (4.5:1); these are not.
const legible = `
.light-mode {
  --scalar-color-2: #5e5e5e;
  --scalar-color-3: #666;
  --scalar-sidebar-search-color: #666;
  --scalar-color-blue: #006bb3;
  --scalar-color-green: #00754a;
  --scalar-color-orange: #a84300;
}
.dark-mode {
  --scalar-color-3: #a0a0a0;
  --scalar-sidebar-search-color: #a0a0a0;
}`;

// Everything that would ask another host for something is off.
Scalar.createApiReference('#reference', {
  url: '/openapi.json',
  customCss: legible,
  withDefaultFonts: false,
  telemetry: false,
  hideClientButton: true,
  showDeveloperTools: 'never',
  agent: { disabled: true },
  mcp: { disabled: true },
});

// Some of its buttons are a picture alone and have no name for a screen reader.
// What they open or copy is what stands beside them.
function nameButtons() {
  for (const button of document.querySelectorAll('button')) {
    if (button.ariaLabel || button.title || button.hasAttribute('aria-labelledby')) continue;
    if (button.innerText.trim() === '') {
      const beside = button.closest('a, li, section, header, div')?.textContent.trim().slice(0, 60);
      button.setAttribute('aria-label', beside || 'more');
    }
  }
}
new MutationObserver(nameButtons).observe(document.documentElement, { childList: true, subtree: true });
nameButtons();
