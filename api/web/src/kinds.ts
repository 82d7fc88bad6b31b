// The kinds of triggers, by their category.
export const categories = ["dogs", "people", "wheels", "traffic", "sounds"] as const;
export type Category = (typeof categories)[number];

/** Every kind of trigger with its category. */
export const categoryOf: Record<string, Category> = {
  dog_on_lead: "dogs",
  dog_off_lead: "dogs",
  dog_behind_fence: "dogs",
  adult: "people",
  child: "people",
  runner: "people",
  bicycle: "wheels",
  board_or_scooter: "wheels",
  pram_or_wheelchair: "wheels",
  car: "traffic",
  heavy_vehicle: "traffic",
  motorcycle: "traffic",
  train: "traffic",
  siren: "sounds",
  children_noise: "sounds",
  construction: "sounds",
  bells: "sounds",
};

export const kindsOf = (c: string): string[] => Object.keys(categoryOf).filter((k) => categoryOf[k] === c);
