// The shapes that the API answers with, as its OpenAPI document has them.

export type Level = "calm" | "some" | "tight" | "hard";
export type Position = [number, number];
export interface LatLon {
  lat: number;
  lon: number;
}
export interface LineString {
  type: "LineString";
  coordinates: Position[];
}
export interface Place {
  name: string;
  at: LatLon;
}
export interface NeedFile {
  working_m: number;
  reaction_m?: number;
}
export interface DogFile {
  name: string;
  speed_mps?: number;
  needs: Record<string, NeedFile | null>;
}
export interface MapInfo {
  name: string;
  bbox: [number, number, number, number];
  time_zone: string;
  map_time?: string;
  now: string;
  version: string;
  attribution: string;
  demo?: {
    dog: DogFile;
    from: Place;
    outing: {
      minutes: number;
      dogs: { dog: DogFile; minutes: number; experience?: "new" | "regular" | "experienced"; bite_history?: boolean }[];
      people: { name: string; experience?: "new" | "regular" | "experienced" }[];
    };
  };
}
export interface Encounters {
  kind: string;
  category: string;
  expected: number;
  low: number;
  high: number;
  inside: number;
  inside_s: number;
  reactions: number;
}
export interface WatchPoint {
  what: "source" | "blind_corner" | "pinch" | "crossing" | "school_bell" | "hold";
  not_before?: string;
  name: string;
  at: Position;
  at_s: number;
  from_m: number;
  side?: string;
  distance_m?: number;
  sight_m?: number;
  room_m?: number;
}
export interface Leg {
  name: string;
  turn: string;
  start_s: number;
  clock: string;
  duration_s: number;
  length_m: number;
  expected_reactions: number;
  level: Level;
  room_left_m: number;
  room_right_m: number;
  least_room_m: number;
  room_default: boolean;
  keep?: string;
  sight_m: number;
  way_out_s: number;
  way_out_side?: string;
  encounters: Encounters[];
  geometry: LineString;
  edges: number[];
}
export interface Walk {
  shape: string;
  duration_s: number;
  length_m: number;
  expected_reactions: number;
  calm_chance: number;
  calm_low: number;
  calm_high: number;
  encounters: Encounters[];
  movers: { name: string; kind: string; reactions: number }[];
  passed: {
    name: string;
    sort: string;
    nearest_m: number;
    at_s: number;
    side: string;
    active: number;
    in_sight: boolean;
  }[];
  watch_points: WatchPoint[];
  repeated_s: number;
  laps: number;
  quality: { proved: boolean; within_percent: number };
  treats_low: number;
  treats_high: number;
  shortest_gap_s: number;
  longest_calm_s: number;
  default_room_share: number;
  legs: Leg[];
}
export interface Plan {
  walks: Walk[];
  depart: string;
  time_zone: string;
  start: Position;
  start_distance_m: number;
  assumed: string[];
  notes: string[];
  map_time?: string;
  attribution: string;
  caution: string;
}

/** Drawing is the geometry of one walk, made by the server once for page and paper. */
export interface Drawing {
  need: { kind: string; working_m: number; reaction_m: number };
  /** usable room every step_m metres of the walk, smoothed, capped at the need */
  profile: {
    step_m: number;
    left_m: number[];
    right_m: number[];
    level: number[];
    assumed_left: boolean[];
    assumed_right: boolean[];
    sight_m: number[];
  };
  /** runs of the band of one level, as rings that may overlap */
  band: { level: Level; rings: Position[][] }[];
  /** only where the room is less than needed; broken where it is a default */
  edges: { assumed: boolean; line: Position[] }[];
  line: { level: Level; line: Position[] }[];
  around: {
    name: string;
    in_sight: boolean;
    need: { working_m: number; reaction_m: number };
    area: Position[][];
    works: Position[];
    reacts: Position[];
  }[];
  beside: {
    name: string;
    right: boolean;
    from_m: number;
    to_m: number;
    near_m: number;
    far_m: number;
    working_m: number;
    reaction_m: number;
  }[];
}
/** What to do at once when something turns up, for somebody who faces along the walk. */
export interface SideOut {
  first: "ahead" | "back" | "left" | "right" | "aside_left" | "aside_right" | "stay";
  /** the next turn, seen as one walks then */
  then?: "left" | "right" | "ahead" | "back";
  then_m?: number;
  aside_m?: number;
  length_m: number;
  seconds: number;
  ends_m: number;
  hidden: boolean;
  works: boolean;
}
/** The same for each side it may come from, on one stretch of the walk. */
export interface StretchOut {
  at_m: number;
  ahead: SideOut;
  left: SideOut;
  right: SideOut;
  behind: SideOut;
}
export interface DrawnPlan {
  plan: Plan;
  drawings: Drawing[];
}

export interface Wish {
  shape: "loop" | "there_and_back" | "way" | "longest_calm";
  from?: Place | undefined;
  to?: Place | undefined;
  minutes: number;
  max_expected_reactions?: number;
  /** RFC 3339, or "" for now */
  depart: string;
  limits: Limits;
}
export interface Limits {
  no_steps?: boolean;
  lit_only?: boolean;
  paved_only?: boolean;
  off_roads?: boolean;
  cross_at_crossings?: boolean;
  inside_reaction_distance?: boolean;
  never_nearer?: { from: string; m: number }[];
  avoid_ways?: string[];
}

export interface Offer {
  what: "leave_at" | "start_at" | "shape" | "minutes" | "without_limit";
  depart?: string;
  minutes?: number;
  shape?: Wish["shape"];
  name?: string;
  calm_chance: number;
}
export interface Problem {
  type: string;
  title: string;
  status: number;
  detail: string;
  instance?: string;
  errors?: { location?: string; message: string; value?: unknown }[];
  reason?: string;
  limit?: string;
  short?: number;
  unit?: string;
  offers?: Offer[];
  best?: Walk;
}

export interface HourOutlook {
  depart: string;
  found: boolean;
  calm_chance: number;
  expected_reactions: number;
  duration_s: number;
  most?: string;
  dark: boolean;
}

export interface SourceInfo {
  id: number;
  osm: string;
  sort: string;
  what: string;
  name: string;
  at: Position;
  kinds: string[];
  hours?: string;
  active: number;
  working_m: number;
  assumed: boolean;
  outline?: Position[][];
}
export interface HazardFeature {
  type: "Feature";
  geometry: LineString;
  properties: {
    edge: number;
    name: string;
    level: Level;
    reactions_in_ten_minutes: number;
    room_left_m: number;
    room_right_m: number;
    room_default: boolean;
    sight_m: number;
  };
}
export interface Hazards {
  type: "FeatureCollection";
  features: HazardFeature[];
  truncated: boolean;
}
export interface Explanation {
  name: string;
  level: Level;
  reactions_in_ten_minutes: number;
  terms: {
    kind: string;
    what: string;
    distance_m: number;
    in_sight: boolean;
    per_hour: number;
    p: number;
    share: number;
  }[];
}

/** Where to stand and watch from, at an hour, for so long. */
export interface Stay {
  at: Position;
  street: string;
  watched: { name: string; sort: string; osm?: string };
  distance_m: number;
  multiple: number;
  room_m: number;
  grade: "A" | "B" | "C" | "D";
  ways_out: LineString[];
  way_out_names?: string[];
  number: number;
  low: number;
  high: number;
  lasts_low_s: number;
  lasts_high_s: number;
  treats_low: number;
  treats_high: number;
  arrive: string;
  stay_minutes: number;
  pinned: boolean;
  kept?: boolean;
}
/** One step of a sequence of training visits. */
export interface Visit extends Stay {
  leave: string;
  way_in: Walk;
  way_home: Walk;
  calm_in_minutes: number;
  expected_reactions: number;
  harder: string[];
  easier: string[];
  alternatives: number[];
  cautions: string[];
}
export interface Lack {
  multiple?: number;
  distance_m?: number;
  why: "ground" | "hours" | "reactions" | "way_in" | "steps" | "pin" | "bite";
  least_reactions?: number;
  text: string;
  instead?: Stay;
}
export interface Sequence {
  visits: Visit[];
  order?: string;
  complete: boolean;
  options: Stay[];
  lacks: Lack[];
  considered: number;
  cautions: string[];
  assumed: string[];
  time_zone: string;
}
/** What the rule says to the kept logs of a sequence. */
/** When to move on and when to go back, as a trainer sets it. */
export interface MoveRule {
  visits_in_a_row: number;
  handled_share: number;
  least_triggers: number;
  over_for_back: number;
  refusals_for_back: number;
}
export interface Progress {
  step: number;
  of: number;
  paused: boolean;
  proposal: "stay" | "on" | "back";
  to: number;
  visits: number;
  triggers: number;
  handled: number;
  turned_back: number;
  refused_food: number;
  went_over: number;
  rule: MoveRule;
  done: { walk: string; visit: number; started: string; triggers: number; handled: number; went_over?: number }[];
  caution: string;
}
