import { parseQuantity, type QuantityKind } from '../../src/units/index.ts';
import {
  carbonLitres,
  concentrateMgL,
  exponentialDivisor,
  feedForProductL,
  generalTableDivisor,
  gPerLOfKgrPerFt3,
  makerTableDivisor,
  osmoticBar,
  permeateMgL,
  recovery,
  rejection,
  resinCapacityG,
  resinLitres,
  resinLitresByEquivalents,
  takenUpG,
  thinFilmDivisor,
} from '../../src/water/index.ts';
import type { Solvers } from './types.ts';

const G_PER_EQ = 50.04345;
function read(kind: QuantityKind, text: string): number {
  const parsed = parseQuantity(kind, text);
  if (!parsed.ok) throw new Error(`${text}: ${parsed.expected}`);
  return parsed.value;
}
const toGallons = (litres: number): number => litres / read('volume', '1 gal');
const toC = ({ t_C, t_degC, t_F, t_degF }: Readonly<Record<string, number>>): number =>
  t_C ?? t_degC ?? (((t_F ?? t_degF ?? Number.NaN) - 32) * 5) / 9;
/** A table or formula at one temperature or at several. */
const at =
  (divisor: (temperatureC: number) => number) =>
  (inputs: { t_C?: number | number[] }): number | number[] =>
    Array.isArray(inputs.t_C) ? inputs.t_C.map(divisor) : divisor(toC(inputs as Readonly<Record<string, number>>));

type Flow = { readonly rated_gpd?: number; readonly rated_per_day?: number };
const flow = (divisor: (temperatureC: number) => number) => (inputs: Flow & Readonly<Record<string, number>>) => {
  const by = divisor(toC(inputs));
  return { divisor: by, flow: (inputs.rated_gpd ?? inputs.rated_per_day ?? Number.NaN) / by };
};

const rejectedBy = (inputs: Readonly<Record<string, number>>): number =>
  rejection(
    inputs['feed'] ?? inputs['feed_ppm'] ?? inputs['feed_uS'] ?? 0,
    inputs['permeate'] ?? inputs['permeate_ppm'] ?? inputs['permeate_uS'] ?? 0,
  );

export const RO_SOLVERS: Solvers = {
  rejection: (inputs: Readonly<Record<string, number>>) => {
    const share = rejectedBy(inputs);
    if (inputs['feed_ppm'] !== undefined) return share;
    if (inputs['feed_uS'] !== undefined) return 100 * share;
    return { rejection_pct: 100 * share, passage_pct: 100 * (1 - share) };
  },
  recovery: (inputs: Readonly<Record<string, number>>) => {
    const product = inputs['permeate_L'] ?? inputs['product_L'] ?? inputs['permeate_gpm'] ?? 0;
    const waste =
      inputs['concentrate_L'] ??
      inputs['waste_L'] ??
      inputs['concentrate_gpm'] ??
      (inputs['feed_gpm'] ?? Number.NaN) - product;
    const found = recovery(product, waste);
    if (inputs['feed_gpm'] !== undefined) return 100 * found.recovery;
    return {
      recovery: found.recovery,
      recovery_pct: 100 * found.recovery,
      feed: found.feedL,
      feed_L: found.feedL,
      waste_per_product: found.wastePerProduct,
    };
  },
  concentration: ({ recovery: recovered }: { recovery: number }) => ({
    CF: concentrateMgL(1, recovered, 1),
    waste_to_product: feedForProductL(1, recovered) - 1,
  }),
  balance: (inputs: Record<'feed_ppm' | 'recovery' | 'rejection', number>) => ({
    permeate_ppm: permeateMgL(inputs.feed_ppm, inputs.rejection),
    concentrate_ppm: concentrateMgL(inputs.feed_ppm, inputs.recovery, inputs.rejection),
  }),
  osmoticPsi: ({ tds_ppm }: { tds_ppm: number }) => osmoticBar(tds_ppm) / read('pressure', '1 psi'),
  tableA: at(generalTableDivisor),
  tableB: at(thinFilmDivisor),
  tableC: at((temperatureC) => 1 / makerTableDivisor(temperatureC)),
  tableAFlow: (inputs: Flow & Readonly<Record<string, number>>) =>
    inputs.rated_gpd === undefined ? flow(generalTableDivisor)(inputs) : flow(generalTableDivisor)(inputs).flow,
  tableBFlow: flow(thinFilmDivisor),
  exponential: ({ t_degC }: { t_degC: number }) => ({
    'flow_multiplier_298.15': 1 / exponentialDivisor(t_degC, t_degC < 25 ? 3020 : 2640),
  }),
  exponentials: ({ t_C, U }: { t_C: number[]; U: number }) => ({
    flow_factor: t_C.map((each) => 1 / exponentialDivisor(each, U)),
    divisor: t_C.map((each) => exponentialDivisor(each, U)),
  }),
  kgr: ({ kgr_ft3 = 1 }: { kgr_ft3?: number }) => {
    const grams = gPerLOfKgrPerFt3(kgr_ft3);
    // The page that prints eq/L counts a round 50 g to the equivalent.
    return { g_CaCO3_L: grams, eq_L: grams / 50, 'eq_L_at_50.0435': grams / G_PER_EQ };
  },
  gpg: () => read('dissolved', '1 gpg'),
  resinKgr: (inputs: Record<'resin_L' | 'kgr_ft3' | 'load_ppm_CaCO3', number>) =>
    resinLitres({
      resinL: inputs.resin_L,
      capacityGPerL: gPerLOfKgrPerFt3(inputs.kgr_ft3),
      tdsMgL: inputs.load_ppm_CaCO3,
    }),
  resinKgrGpg: (inputs: Record<'resin_L' | 'kgr_ft3' | 'feed_gpg', number>) =>
    resinLitres({
      resinL: inputs.resin_L,
      capacityGPerL: read('resinCapacity', `${inputs.kgr_ft3} kgr/ft³`),
      tdsMgL: read('dissolved', `${inputs.feed_gpg} gpg`),
    }),
  resinEq: (inputs: Readonly<Record<string, number>>) => {
    const asCarbonate = inputs['feed_TDS_mg_L_as_CaCO3'];
    const load = asCarbonate === undefined ? (inputs['feed_TDS_mg_L_as_NaCl'] ?? 0) / 58.443 : asCarbonate / G_PER_EQ;
    return resinLitresByEquivalents(inputs['resin_L'] ?? 0, inputs['operating_capacity_eq_L'] ?? 0, load);
  },
  resinEquivalents: (inputs: Record<'resin_L' | 'capacity_eq_L' | 'load_meq_L', number>) =>
    resinLitresByEquivalents(inputs.resin_L, inputs.capacity_eq_L, inputs.load_meq_L),
  resinCo2: (inputs: Record<'resin_L' | 'anion_eq_L' | 'permeate_meq_L' | 'CO2_mg_L', number>) =>
    resinLitres({
      resinL: inputs.resin_L,
      capacityGPerL: inputs.anion_eq_L * G_PER_EQ,
      tdsMgL: inputs.permeate_meq_L * G_PER_EQ,
      co2MgL: inputs.CO2_mg_L,
    }),
  consumed: (inputs: { resin_L: number; cap_eq_L: number; litres_by_TDS: [number, number][] }) =>
    takenUpG(inputs.litres_by_TDS.map(([litres, tdsMgL]) => ({ litres, tdsMgL }))) /
    resinCapacityG({ resinL: inputs.resin_L, capacityGPerL: inputs.cap_eq_L * G_PER_EQ }),
  throughput: (inputs: Readonly<Record<string, number>>) => {
    // Capacity of so many cubic feet of resin, or of a unit as a whole: then spread over resin that could hold it.
    const resinL = (inputs['ft3'] ?? 4) * 28.316846592;
    const grains = inputs['capacity_grains'] ?? (inputs['grains_per_ft3'] ?? 0) * (inputs['ft3'] ?? 0);
    const tdsMgL = read('dissolved', `${inputs['gpg'] ?? inputs['hardness_gpg']} gpg`);
    const litres = resinLitres({ resinL, capacityGPerL: read('mass', `${grains} gr`) / resinL, tdsMgL });
    // Both are worked in gallons and grains, where they come out even.
    return Number(toGallons(litres).toFixed(6));
  },
  carbonTable: ({ chlorine_ppm }: { chlorine_ppm: number }) => carbonLitres(1_140_000, 1, chlorine_ppm),
  carbonLoad: (inputs: Record<'rating_gal' | 'rated_ppm' | 'actual_ppm', number>) =>
    carbonLitres(read('volume', `${inputs.rating_gal} gal`), inputs.rated_ppm, inputs.actual_ppm),
};
