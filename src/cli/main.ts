#!/usr/bin/env node
import { main } from './program.ts';

// Exits by itself when nothing is left to do; a running service keeps it up.
process.exitCode = await main(process.argv.slice(2));
