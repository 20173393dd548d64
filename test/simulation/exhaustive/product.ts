import { join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type * as Model from '../../../src/model/index.ts';
import type * as Procedure from '../../../src/procedure/index.ts';

/** The builder and the engine under trial: the product's own, or a copy of it with something wrong planted in it. */
export type Product = {
  readonly buildPlan: typeof Procedure.buildPlan;
  readonly engineContext: typeof Procedure.engineContext;
  readonly begin: typeof Procedure.begin;
  readonly advance: typeof Procedure.advance;
  readonly replay: typeof Procedure.replay;
};

export type Tank = Model.Tank;

export const OWN_SOURCE = resolve(fileURLToPath(import.meta.url), '../../../../src');

export async function loadProduct(source: string): Promise<Product> {
  return (await import(pathToFileURL(join(source, 'procedure/index.ts')).href)) as Product;
}
