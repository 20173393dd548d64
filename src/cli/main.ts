#!/usr/bin/env node
import { main } from './program.ts';

// A reader that has seen enough (`| head`) is no failure.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit();
});

// Exits by itself when nothing is left to do; a running service keeps it up.
process.exitCode = await main(process.argv.slice(2));
