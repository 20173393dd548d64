import type { Invariant } from '../checker/index.ts';
import { BUILDER_MUTATIONS } from '../mutations/list-builder.ts';
import { ENGINE_MUTATIONS } from '../mutations/list-engine.ts';
import { copyProduct, type Mutation, plant } from '../mutations/plant.ts';
import { type Bounds, explore, type Finding } from './explore.ts';
import { loadProduct } from './product.ts';

// Five faults that trying every way must find, and what each of them breaks.

export type Planted = { readonly id: string; readonly breaks: Invariant; readonly bounds: Bounds };

const P1 = { procedure: 'pump-pause', stopAtFirst: true } as const;

export const PLANTED: readonly Planted[] = [
  // Found without any fault of the tank.
  { id: 'adders-stay-on', breaks: 'I4', bounds: { ...P1, faults: 0, wrongs: 0 } },
  // By a person in a hurry.
  { id: 'too-soon', breaks: 'I1', bounds: { ...P1, faults: 0, wrongs: 1 } },
  // By a person who gives up in the middle.
  { id: 'abort-forgets', breaks: 'I8', bounds: { ...P1, faults: 0, wrongs: 1 } },
  // By one fault at the right moment.
  { id: 'crash-goes-on', breaks: 'I7', bounds: { ...P1, faults: 1, wrongs: 0 } },
  { id: 'last-mover', breaks: 'I5', bounds: { ...P1, faults: 1, wrongs: 0 } },
];

const mutationOf = (id: string): Mutation => {
  const found = [...ENGINE_MUTATIONS, ...BUILDER_MUTATIONS].find((each) => each.id === id);
  if (found === undefined) throw new Error(`no mutation ${id}`);
  return found;
};

/** What trying every way finds with this fault planted. */
export async function findPlanted({ id, bounds }: Planted): Promise<readonly Finding[]> {
  const copy = copyProduct();
  try {
    plant(mutationOf(id), copy);
    return explore(await loadProduct(copy.source), bounds).findings;
  } finally {
    copy.remove();
  }
}
