import { Command } from 'commander';
import { buildPlan } from '../../procedure/index.ts';
import { readConfig } from '../config-file.ts';
import type { CommandTools } from '../program.ts';
import { planText } from '../session-text.ts';

export function rehearseCommand({ out, globals }: CommandTools): Command {
  return new Command('rehearse')
    .description('the steps of a procedure on your tank, with the rule behind each; nothing is switched')
    .argument('<procedure>', 'skimmer-service or pump-pause')
    .action(async (procedure: string) => {
      const { config, json } = globals();
      const loaded = await readConfig(config);
      const plan = buildPlan(procedure, loaded.config.tank, loaded.config.rules);
      return json === true ? out.json(plan) : out.line(planText(out.look, plan));
    });
}
