import { writeFileSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { exampleYaml } from './example.ts';
import { configSchemaJson } from './json-schema.ts';
import { referencePage } from './reference.ts';

/** The generated files under docs, by name. A test keeps them equal to what stands there. */
export const GENERATED_DOCS: Readonly<Record<string, () => string>> = {
  'configuration.md': referencePage,
  'slackwater.schema.json': configSchemaJson,
  'slackwater.example.yaml': exampleYaml,
};

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  for (const [name, text] of Object.entries(GENERATED_DOCS)) {
    writeFileSync(fileURLToPath(new URL(`../../docs/${name}`, import.meta.url)), text());
  }
}
