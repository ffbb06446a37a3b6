// Everything that would ask another host for something is off.
Scalar.createApiReference('#reference', {
  url: '/openapi.json',
  withDefaultFonts: false,
  telemetry: false,
  hideClientButton: true,
  showDeveloperTools: 'never',
  agent: { disabled: true },
  mcp: { disabled: true },
});
