import { cp, mkdir, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { stripTypeScriptTypes } from 'node:module';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const HERE = dirname(fileURLToPath(import.meta.url));
const ROOT = resolve(HERE, '../..');

export const NODE_NAMES = ['slackwater-service', 'slackwater-due', 'slackwater-wear', 'slackwater-session'] as const;
export const PACKAGE_NAME = '@slackwater/node-red-slackwater';

/**
 * TypeScript module → CommonJS, for the narrow style of this folder: static imports of names, declarations exported where
 * they stand. CommonJS, because that is what every supported Node-RED loads, by require or by import. Types cannot be
 * stripped by the runtime itself inside node_modules, where a node package lives.
 */
export function toCommonJs(source: string, file: string): string {
  const exported: string[] = [];
  const code = stripTypeScriptTypes(source)
    .replace(/^import\s*\{([^}]*)\}\s*from\s*'([^']+)';/gm, (_whole, names: string, from: string) => {
      const bound = names
        .replaceAll(/\s+/g, ' ')
        .replaceAll(/(\w+) as (\w+)/g, '$1: $2')
        .trim();
      return `const { ${bound} } = require('${from.replace(/^(\..*)\.ts$/, '$1.js')}');`;
    })
    .replace(/^export \* from '(\.[^']+)\.ts';/gm, "Object.assign(exports, require('$1.js'));")
    .replace(/^export ((?:async )?function\*?|async function\*|const|class) (\w+)/gm, (_whole, kind, name: string) => {
      exported.push(name);
      return `${kind} ${name}`;
    });
  const left = /^(?:import|export)\b.*$/m.exec(code);
  if (left !== null) throw new Error(`${file}: this form cannot be built for Node-RED: ${left[0]}`);
  const tidy = code
    .replaceAll(/[ \t]+$/gm, '')
    .replaceAll(/\n{3,}/g, '\n\n')
    .trim();
  const tail = exported.map((name) => `exports.${name} = ${name};\n`).join('');
  return `'use strict';\n${tidy}\n${tail}`;
}

/** Writes the installable package to `target`, which is emptied first. */
export async function buildNodes(target: string): Promise<void> {
  await rm(target, { recursive: true, force: true });
  await buildModules(join(HERE, 'shared'), join(target, 'shared'));
  for (const name of NODE_NAMES) {
    await buildModules(join(HERE, name), join(target, name));
    // Node-RED takes the function that registers, and looks for the form beside it under the same name.
    const entry = join(target, name, 'index.js');
    await writeFile(entry, `${await readFile(entry, 'utf8')}module.exports = register;\n`);
    await cp(join(HERE, name, 'editor.html'), join(target, name, 'index.html'));
    await cp(join(HERE, name, 'locales'), join(target, name, 'locales'), { recursive: true });
  }
  await cp(join(ROOT, 'flows'), join(target, 'examples'), { recursive: true });
  await cp(join(ROOT, 'LICENSE'), join(target, 'LICENSE')).catch(() => undefined);
  await writeFile(join(target, 'package.json'), `${JSON.stringify(await manifest(), null, 2)}\n`);
}

async function buildModules(from: string, to: string): Promise<void> {
  await mkdir(to, { recursive: true });
  for (const file of await readdir(from)) {
    if (!file.endsWith('.ts')) continue;
    const code = toCommonJs(await readFile(join(from, file), 'utf8'), join(from, file));
    await writeFile(join(to, file.replace(/\.ts$/, '.js')), code);
  }
}

async function manifest(): Promise<Record<string, unknown>> {
  const own = JSON.parse(await readFile(join(ROOT, 'package.json'), 'utf8')) as { version: string; license: string };
  return {
    name: PACKAGE_NAME,
    version: own.version,
    description: 'Slackwater in flows: what is due, each change of wear, and sessions.',
    license: own.license,
    private: true,
    type: 'commonjs',
    engines: { node: '>=20.3' },
    'node-red': {
      // Both ends of the range are run: the scenario takes another Node-RED through SLACKWATER_NODE_RED.
      version: '>=4.1',
      nodes: Object.fromEntries(NODE_NAMES.map((name) => [name, `${name}/index.js`])),
    },
  };
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const target = resolve(process.argv[2] ?? join(HERE, 'dist'));
  await buildNodes(target);
  console.log(`Built for Node-RED. In its user folder (usually ~/.node-red), run: npm install ${target}`);
}
