// What the API answers with, by the names that the page has for it: all of it made
// from the server's description (api.gen.ts).
import type { components } from "./api.gen.ts";

type Schemas = components["schemas"];

export type LatLon = Schemas["LatLon"];
export type Place = Schemas["Place"];
export type Where = Schemas["Where"];
export type WhereOption = Schemas["WhereOption"];
export type FoundPlace = Schemas["FoundPlace"];
type LineString = Schemas["LineString"];
/** Longitude and latitude. */
export type Position = LineString["coordinates"][number];
/** Of ground among that about: 1 calm for here to 4 hardest here. */
export type Step = 1 | 2 | 3 | 4;
/** The two distances of a kind that the dog is not calm about. */
export type Need = NonNullable<Schemas["DogNeed"]>;
export type DogFile = Schemas["DogFile"];
export type MapInfo = Schemas["MapInfo"];

export type WishBody = Schemas["WishBody"];
export type Limits = Schemas["LimitsBody"];
/** What is asked for, as the page says it. */
export interface Wish {
  shape: NonNullable<WishBody["shape"]>;
  from?: Place | undefined;
  to?: Place | undefined;
  minutes: number;
  max_expected_reactions?: number;
  /** what moving traffic counts beside reactions; as usual where it is left out */
  strain?: WishBody["strain"] | undefined;
  /** rather on grass, earth and wood */
  soft_ground?: boolean;
  /** where nobody knows dog and handler: ground with rules of its own is kept off */
  away?: boolean;
  /** RFC 3339, or "" for now */
  depart: string;
  limits: Limits;
  /** as somebody says it is that day; never kept beyond it */
  weather?: Weather | undefined;
}
export type CountReport = Schemas["CountReport"];
export type Weather = Schemas["WeatherBody"];
export type Plan = Schemas["PlanBody"];
/** A plan's address: sent back, the same walks are drawn, printed or proved. */
export type Given = Schemas["Given"];
export type Walk = Schemas["Walk"];
export type Leg = Schemas["Leg"];
export type WatchPoint = Schemas["WatchPoint"];
/** The geometry of one walk, made by the server once for page and paper. */
export type Drawing = Schemas["Drawing"];
/** What a plan and its walks are drawn from. */
export type DrawnPlan = Schemas["DrawnPlan"];
export type Offer = Schemas["Offer"];
export type Problem = Schemas["Problem"];
/** What to do at once when something turns up, for somebody who faces along the walk. */
export type SideOut = Schemas["SideInfo"];
/** The same for each side that it may come from, on one stretch of the walk. */
export type StretchOut = Schemas["StretchOut"];
export type Week = Schemas["Week"];
export type HourOutlook = Schemas["HourInfo"];

/** The ways about a place, compared and in runs to be drawn. */
export type RankedStreets = Schemas["RankedStreets"];
/** What it is like on one of them. */
export type StreetFacts = Schemas["EdgeProperties"];
/** How they compare: bounds in minutes to one reaction, and shares. */
export type Rank = Schemas["Rank"];
export type SourceInfo = Schemas["SourceInfo"];
export type Explanation = Schemas["Explanation"];

export type Vantage = Schemas["Vantage"];
/** Where to stand and watch from, at an hour, for so long. */
export type Stay = Schemas["Stay"];
/** One step of a sequence of training visits. */
export type Visit = Schemas["Visit"];
/** A visit for its hour, with all it is walked and drawn by. */
export type VisitDrawn = Schemas["VisitDrawn"];
/** Ground and minutes of a meeting with a known helper, and all that were found. */
export type Setup = Schemas["Setup"];
export type SetupList = Schemas["SetupList"];
export type VisitsBody = Schemas["VisitsBody"];
export type Sequence = Schemas["Sequence"];
/** When to move on and when to go back, as a trainer sets it. */
export type MoveRule = Schemas["KeptTrainingRule"];
/** What the rule says to the kept logs of a sequence. */
export type Progress = Schemas["SequenceProgress"];

export type OutingBody = Schemas["OutingBody"];
export type Experience = NonNullable<Schemas["OutingDog"]["experience"]>;
export type GateCount = Schemas["GateCount"];
export type Timetable = Schemas["Timetable"];
export type TimeRow = Schemas["TimeRow"];
export type Pinch = Schemas["Pinch"];
export type Shortage = Schemas["Shortage"];
export type Check = Required<Schemas["OutingCheck"]>;
export type Frame = Schemas["OutingFrame"];

export type KeptDog = Schemas["KeptDog"];
export type DogProfile = Schemas["KeptProfile"];
export type Answers = Schemas["KeptAnswers"];
export type Proposal = Schemas["ProposalInfo"];
export type Change = Schemas["KeptChange"];
export type KeptMeeting = Schemas["KeptEncounter"];
export type Account = Schemas["KeptAccount"];
export type Person = Schemas["KeptPerson"];
export type KeptReport = Schemas["KeptReport"];
export type KeptCount = Schemas["KeptCount"];
export type KeptLimit = Schemas["KeptLimit"];
/** A kept document; what is in it is the page's own. */
export type Doc<Body> = Omit<Schemas["KeptDocument"], "body"> & { body: Body };
