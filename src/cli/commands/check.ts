import { Command } from 'commander';
import type { SlackwaterError } from '../../errors/index.ts';
import { lookOnce } from '../../io/hub/index.ts';
import { realSystem } from '../../io/system/index.ts';
import { hubToken, type Loaded, readConfig } from '../config-file.ts';
import { type CommandTools, EXIT } from '../program.ts';
import { entitiesOf } from '../run-service.ts';

export function checkCommand({ out, globals, exitWith }: CommandTools): Command {
  return new Command('check')
    .description('check a configuration; every problem with its place and what is allowed')
    .argument('[file]', 'the configuration; --config otherwise')
    .option('--hub', 'also ask the hub: is it there, does it take the token, has it every entity')
    .action(async (file: string | undefined, { hub }: { hub?: boolean }) => {
      const { config: named, json } = globals();
      const loaded = await readConfig(file ?? named);
      const { warnings, file: path, config } = loaded;
      const look = hub === true ? await askHub(loaded) : null;
      if (look !== null && look.missing.length > 0) exitWith(EXIT.refused);
      const { tank } = config;
      const counts = {
        equipment: tank.equipment.length,
        sensors: tank.sensors.length,
        counters: tank.counters.length,
        parts: tank.parts.length,
      };
      if (json === true) {
        const ok = look === null || look.missing.length === 0;
        return out.json({ file: path, ok, warnings, ...counts, ...(look === null ? {} : { hub: look }) });
      }
      for (const warning of warnings) out.line(`warning: ${warning}`);
      out.line(
        `${path} is in order: ${tank.name}, ${counts.equipment} equipment, ${counts.sensors} sensors, ${counts.counters} counters, ${counts.parts} parts.`,
      );
      if (look !== null) out.line(hubText(config.hub.url, look));
    });
}

type HubAnswer = { readonly version: string; readonly missing: readonly SlackwaterError[] };

async function askHub(loaded: Loaded): Promise<HubAnswer> {
  const { hub, prefix, tank } = loaded.config;
  const token = await hubToken(loaded);
  const system = realSystem({ secrets: [token] });
  return lookOnce({ url: hub.url, token, prefix, entities: entitiesOf(tank), system });
}

function hubText(url: string, { version, missing }: HubAnswer): string {
  if (missing.length === 0) return `The hub at ${url} (${version}) takes the token and has every entity named here.`;
  const lines = missing.map(({ code, message, whatToDo }) => `  ${code} ${message}\n    ${whatToDo}`);
  return [`The hub at ${url} (${version}) takes the token and lacks ${missing.length} of the entities:`, ...lines].join(
    '\n',
  );
}
