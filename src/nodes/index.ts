// Node-RED nodes, one folder each: index.ts (registers), controller.ts (what it does), editor.html (form and help),
// locales/. They run inside Node-RED, another process: they know the service's API only, and nothing here reaches into
// the rest of the product. build.ts turns the folder into an installable package.
export * from './build.ts';
export * from './shared/index.ts';
