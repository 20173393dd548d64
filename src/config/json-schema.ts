import { z } from 'zod';
import { PARTS } from '../rules/index.ts';
import { HELP } from './meta.ts';
import { SCHEMA } from './schema.ts';

/** JSON Schema of slackwater.yaml for editors, as text: completion, help under the pointer, a mark under wrong keys. */
export function configSchemaJson(): string {
  const schema = z.toJSONSchema(SCHEMA, {
    io: 'input',
    // The draft that YAML plug-ins of editors know best.
    target: 'draft-7',
    metadata: HELP,
    override: ({ jsonSchema }) => {
      const target = jsonSchema as Record<string, unknown>;
      for (const key of ['expected', 'what', 'secret', 'explain', 'explainKey', 'range']) delete target[key];
      if (Array.isArray(target['examples']) && target['type'] === 'object') delete target['examples'];
    },
  });
  const title = { $schema: schema.$schema, title: 'slackwater.yaml', ...schema };
  addPartKinds(title);
  return `${JSON.stringify(title, null, 2)}\n`;
}

type Node = { properties?: Record<string, Node>; additionalProperties?: Node; enum?: readonly string[] };

/** The kinds of parts are a table, not a type; editors can still complete them. */
function addPartKinds(schema: unknown): void {
  const kind = (schema as Node).properties?.['parts']?.additionalProperties?.properties?.['kind'];
  if (kind !== undefined) kind.enum = Object.keys(PARTS);
}
