// Where a fact comes from. Every rule, part and caution carries one or more of these marks, so that a keeper can judge it.
export const COMMON_PRACTICE = 'common practice, no source';
export const FROM_MEMORY = 'from memory';
export const CALCULATED = 'worked out from the tank’s own figures';

/** Published pages, by what they speak of. */
export const SOURCES = {
  roCartridges: 'https://forums.reefcentral.com/threads/when-do-you-replace-an-ro-membrane.1538691',
  resinGrains: 'https://mail.stason.org/TULARC/animals/aquaria/reefkeeper/1-1-2-DI-filters.html',
  tdsCreep: 'https://reefaddicts.com/content.php/182-RO-DI-TDS-Creep-is-it-worthy-of-concern',
  carbonFines: 'http://www.reefcentral.com/forums/archive/index.php/t-1729772.html',
  lampChange:
    'http://www.aquaristsonline.com/blog/aquarium-equipment/aquarium-lighting/when-to-replace-your-aquarium-lights/',
  lampChangeShort: 'https://aquanerd.com/2012/08/tip-of-the-day-832012.html',
  newLampShock: 'https://aquanerd.com/2012/08/tip-of-the-day-882012.html',
  coralLighting: 'https://www.petcha.com/dos-and-donts-of-coral-lighting/',
  coralAdjusts: 'https://pmc.ncbi.nlm.nih.gov/articles/PMC6150484',
  coralAdjustsFull: 'https://cob.silverchair.com/jeb/article/222/8/jeb195982/34051',
  newLightSlowly: 'https://livingreefs.com/threads/photo-acclimation-of-corals.421/',
  coralSymbionts: 'http://mesophotic.org/publications/1161',
  heaterDry: 'https://aquanerd.com/2010/12/tip-of-the-day-12142010.html',
  heaterOut: 'https://www.themandaringarden.com/dangers-of-dry-aquarium-heaters.html',
  heaterCools: 'https://winenfood.com/how-to-fix-your-fish-tank-heater-problems',
  dryRunWatts:
    'https://industrialmonitordirect.com/blogs/knowledgebase/centrifugal-pump-dry-running-detection-current-vs-pressure-switch-methods',
  limewater: 'http://reefkeeping.com/issues/2005-01/rhf/index.php',
  limewaterBurns: 'http://www.saltcorner.com/Articles/Showarticle.php?articleID=48',
  electricSafety:
    'https://www.osstf.on.ca/en-CA/services/health-safety/information-bulletins/electrical-hazards-involving-aquariums-in-schools.aspx',
  lampWaste: 'https://nepis.epa.gov/Exe/ZyPURL.cgi?Dockey=P1009P7C.txt',
  brokenTube:
    'https://www.mdeq.ms.gov/land/waste-division/solid-waste-management-programs/recycling/faqs/fluorescent-lamps/',
  uvLampLife: 'https://experts123.com/q/what-factors-influence-the-effectiveness-of-uv-sterilizers.html',
  uvEyes: 'https://lowvision.preventblindness.org/beware-uvc-lamps-as-covid-19-disinfectant/',
  skinInfection:
    'http://www.berkeleywellness.com/healthy-community/environmental-health/article/prevent-fish-tank-infections',
  sumpRoom: 'https://xzhbc.com/pet-fish/aquariums/12502.html',
  siphonBreak: 'https://aquariummaintenancebusiness.com/plumbing-siphon-breaks/',
  drainDown: 'http://fins.actwin.com/aquatic-plants/month.9907/msg00246.html',
  hoseOff: 'https://aquariumadventures.blogspot.com/2009/07/dont-do-this.html',
  carbonDioxide:
    'http://reefkeeping.com/joomla/index.php/past-issues/2009/october-2009/article/54-calcium-reactors-in-out-and-everything-in-between-part-2',
  chiller: 'https://www.rastechmagazine.com/fresh-tips-chiller-maintenance-tips/',
  vinegarSoak: 'https://xzhbc.com/pet-fish/aquariums/31720.html',
  pumpScale: 'https://aquanerd.com/2012/06/tip-of-the-day-672012.html',
  coralFlow: 'https://pubmed.ncbi.nlm.nih.gov/29300632',
  coralLowOxygen: 'https://pmc.ncbi.nlm.nih.gov/articles/PMC3898309',
  lockout: 'https://ei1.com/2023/04/12/should-you-lockout-tagout-electrical-cords/',
  generators: 'https://www.esfi.org/portable-generator-safety-short/',
  meterError: 'https://studylib.net/doc/18629532/comparison-of-end%E2%80%90user-electric-power-meters-for-accuracy',
  inrush: 'https://www.scribd.com/document/124527513/Electronic-Ballasts-and-Inrush-Current-Technical-Bulletin',
  startUpSetting: 'https://docs.rs/matter-kit/0.3.0/src/matter_kit/clusters/on_off.rs.html',
  rcd: 'http://www.ivanfairless.co.uk/residual_current_devices_(rcd).htm',
  lifting: 'http://www.fsmmag.com/Articles/2008/04/Recommended%20Weight%20Limit.htm',
  ladders: 'https://www.cdc.gov/niosh/nioshtic-2/20039464.html',
  batteryLife: 'https://top10electrical.com/2014/11/factors-affecting-battery-performance.html',
  mediaCarbon: 'http://www.aquaristsonline.com/blog/general/marine-aquarium-chemical-filtration/',
  algaeHarvest: 'https://grokipedia.com/page/algae_scrubber',
  floatLife: 'https://www.claytoncountyregister.com/news2/how-long-should-a-float-switch-last/788245/',
  floatJams: 'https://aquanerd.com/2011/12/tip-of-the-day-12222011.html',
  strips: 'https://www.saltwateraquariumlighting.com/prevent-aquarium-disasters/',
  powerCut: 'https://life-aquatic.com/power-outage-instructions/',
  ledLife: 'https://informahealthcare.com/doi/full/10.1080/15502724.2013.855613',
  airPumpLife: 'https://homescale.net/how-long-should-air-pump-last',
  palytoxin: 'http://www.cdc.gov/mmwr/preview/mmwrhtml/mm6431a4.htm',
  bleachAcid: 'https://sciencenotes.org/mixing-bleach-and-vinegar-heres-what-happens/',
  skimmerAir: 'https://reefs.com/tag/procrastination/',
  skimmerClean: 'https://aquanerd.com/2012/09/tip-of-the-day-9232012.html',
  skimmerCup: 'http://paulsreef.blogspot.com/2008/03/clean-your-cup.html',
  phElectrode: 'http://coxcolvin.blogspot.com/2010/05/ph-probe-maintenance.html',
  waterChange: 'https://forums.reefcentral.com/threads/automatic-water-change.1685525/page-3',
  seawaterFacts: 'https://fbas.co.uk/seawfacts.html',
} as const;
