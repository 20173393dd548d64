import { Command } from 'commander';
import { readConfig, serviceClient } from '../config-file.ts';
import type { CommandTools } from '../program.ts';

export function dashboardCommand({ out, globals }: CommandTools): Command {
  const command = new Command('dashboard').description('the dashboard in the hub');
  command
    .command('install')
    .description('make or renew the dashboard for your tank in the hub')
    .action(async () => {
      const { config, as, json } = globals();
      const loaded = await readConfig(config);
      const { path } = await (await serviceClient(loaded, as)).dashboardInstall();
      const url = `${loaded.config.hub.url}${path}`;
      return json === true ? out.json({ path, url }) : out.line(`Installed: ${url}`);
    });
  return command;
}
