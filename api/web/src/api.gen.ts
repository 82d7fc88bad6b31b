// Made from the server's description of its interface: make types. Not to be edited.

export interface paths {
    "/healthz": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Is the program up? */
        get: operations["health"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/readyz": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * Can it plan and keep?
         * @description The map is loaded, the store answers within a second, and the server is not about to stop.
         */
        get: operations["ready"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/account": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The account and who you are in it */
        get: operations["account"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/account/deletion": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Delete the account with everything in it, for good */
        post: operations["delete-account"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/account/settings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Change the account's settings */
        put: operations["set-settings"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/counts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What people of the account counted by hand, latest first */
        get: operations["counts"];
        put?: never;
        /** Count by hand who passes a place: it binds the levels there, for all of the account */
        post: operations["add-count"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/counts/export.csv": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What people of the account counted, as a table that import --counts reads (RFC 4180) */
        get: operations["export-counts"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/counts/report": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** How far the predicted levels lie from what was counted */
        get: operations["counts-report"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/counts/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** Delete a count */
        delete: operations["delete-count"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/documents/{kind}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Kept sequences or timetables, latest first, without their bodies */
        get: operations["documents"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/documents/{kind}/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One of them */
        get: operations["document"];
        /** Keep one; version 0 makes a new one */
        put: operations["put-document"];
        post?: never;
        /** Delete one */
        delete: operations["delete-document"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The dogs that one may see */
        get: operations["dogs"];
        put?: never;
        /** Add a dog: distances, or plain answers from which they follow */
        post: operations["add-dog"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** One dog */
        get: operations["dog"];
        /** Change what is said of a dog */
        put: operations["set-dog"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/adopter": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What can be told to somebody who may take a dog home: how its walks went, from where it works */
        get: operations["adopter-note"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/deletion": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Delete a dog and all that is kept about it, for good */
        post: operations["delete-dog"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/encounters": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A dog's meetings, oldest first */
        get: operations["encounters"];
        put?: never;
        /** Log a meeting: one small request, late, out of order or twice */
        post: operations["log-encounter"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/export": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** All that is kept about a dog */
        get: operations["export"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/export.csv": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A dog's meetings as a table (RFC 4180) */
        get: operations["export-csv"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/export.gpx": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A dog's tracks and meetings as GPX 1.1 */
        get: operations["export-gpx"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/flag/lifting": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Lift the flag of a snap or a bite, once a professional has seen the dog */
        post: operations["lift-flag"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/history": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** How a dog's distances changed, latest first */
        get: operations["history"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/history/{change}/reversion": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Take a change of distances back */
        post: operations["revert-change"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/plans": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A dog's kept plans, latest first, without their bodies */
        get: operations["kept-plans"];
        put?: never;
        /** Keep a plan for a dog */
        post: operations["keep-plan"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/proposals": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What a dog's meetings say of its distances */
        get: operations["proposals"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/proposals/{name}/acceptance": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Accept a proposal; it is worked out anew and must still be the one seen */
        post: operations["accept-proposal"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/shares": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The keys that open a dog to somebody outside the account, latest first */
        get: operations["shares"];
        put?: never;
        /** Make a key that opens one dog to be read, for a client */
        post: operations["make-share"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/walks": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** A dog's walks, latest first */
        get: operations["walks"];
        put?: never;
        /** Log a walk */
        post: operations["log-walk"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/dogs/{id}/words": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What trainers said in writing of a dog's meetings, latest first */
        get: operations["words"];
        put?: never;
        /** A trainer says in writing why a dog may meet a helper although one has bitten and one is not muzzle-trained */
        post: operations["add-word"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/drawings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Walks and how they are drawn
         * @description A plan, of a wish or as it was given, and for each walk what a map and the walk unrolled are drawn from.
         */
        post: operations["drawings"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/encounters/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Mend a meeting */
        put: operations["set-encounter"];
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/encounters/{id}/removal": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Take a meeting back */
        post: operations["remove-encounter"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/explain": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Breakdown of one edge
         * @description Every source and stream that makes the hazard of one edge at one hour: distance, sight, rate, chance, share.
         */
        post: operations["explain"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/handouts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * A walk on one page
         * @description The page that a handler carries, as HTML to be printed: map and walk unrolled to scale, legs and watch points in words, the dog's distances, what to do when something comes too close.
         */
        post: operations["hand-out"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/hazards": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Hazard in a box
         * @description How hard the ways in a box are for one dog at one hour, as GeoJSON.
         */
        post: operations["hazards"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/keys/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** End a token at once */
        delete: operations["revoke-key"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/limits": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** How much can be kept */
        get: operations["limits"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/map": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What map is loaded */
        get: operations["map"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Plan an outing that keeps dogs apart
         * @description Which dog walks when, where and with whom, so that no two come nearer than the larger of their working distances although people are late, slow or fast; one dog at a time in the gate zone. Dogs that cannot be served are named with the reason and what would help.
         */
        post: operations["plan-outing"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/check": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Replay a timetable
         * @description Second by second, at random and driven to the worst, by a program that knows nothing of the planner; and where everybody is at each minute.
         */
        post: operations["check-outing"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/drawings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Walks of a timetable with what they are drawn from
         * @description For a timetable that was kept: its walks leg by leg again, the places to wait at among the watch points.
         */
        post: operations["draw-outing"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/gate": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * How many walks the gate lets through
         * @description Arithmetic only, at once: a ceiling that tells before any search whether an outing has a chance.
         */
        post: operations["count-gate"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/handouts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Hand-outs of a timetable
         * @description One page a walk, one after the other, as HTML to be printed: when to be at the gate, where to wait and until when, and the walk as on any hand-out.
         */
        post: operations["print-outing"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/replan": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Re-plan on the day
         * @description Somebody is late or does not come, a dog stays in: what is under way is fixed, and changing what is not has a price.
         */
        post: operations["replan-outing"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/table": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Dogs, people or walks as a table
         * @description Dogs and people as POST /v1/outings/tables reads them; what a table has no cell for is refused.
         */
        post: operations["write-outing-table"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/tables": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Read tables of dogs and people
         * @description As a spreadsheet writes them (RFC 4180; commas, semicolons or tabs): the lists that an outing takes. What cannot be read is told by row and column, and then nothing is taken; columns that are not known are named.
         */
        post: operations["read-outing-tables"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/outings/weeks": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Plan an outing for several days
         * @description The same outing from its first day on, loads fair over all days: what somebody walked counts on the days after. Many dogs on many days may take longer than a request has; then ask day by day, with walked_minutes and there_minutes of the people.
         */
        post: operations["plan-outing-week"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/people": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The people of the account */
        get: operations["people"];
        put?: never;
        /** Add somebody to the account */
        post: operations["add-person"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/people/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Change a person's name, role or dogs */
        put: operations["set-person"];
        post?: never;
        /** Remove somebody and their tokens */
        delete: operations["remove-person"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/people/{id}/keys": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Make a token for a person */
        post: operations["make-key"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/pictures": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * A walk drawn
         * @description The map of a walk, or the walk unrolled, as SVG at true scale: the band of room, what blocks, sources with the dog's distances. For screens without WebGL and for paper.
         */
        post: operations["picture"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/places": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Find a place by name, or a place's name
         * @description Streets by town, doors, parks, schools, settlements and postcodes of the loaded map: what fits in more words and better comes first, then the nearest. Letters are forgiven where nothing else fits. A POST, so that no address stands in anybody's log of requests.
         */
        post: operations["places"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/plans": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Plan walks
         * @description Low-trigger walks for one dog at one hour: the calmest of any shape, loops alone, there and back, ways from A to B, or the longest calm walk. Accept application/geo+json or application/gpx+xml for these forms.
         */
        post: operations["plan"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/plans/told": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Tell a plan again
         * @description A plan by its address: the walks as they were given, told anew without a search. Accept application/geo+json or application/gpx+xml for these forms.
         */
        post: operations["tell-plan"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/plans/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /**
         * A kept plan, told
         * @description The walks of a kept plan for who may see its dog. One that was made on another map is matched with the map loaded here, or refused in words.
         */
        get: operations["kept-plan"];
        put?: never;
        post?: never;
        /** Delete a kept plan; walks that followed it stay */
        delete: operations["delete-plan"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/proofs": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Work longer on how good the best loop is
         * @description A plan as it was given, sent back while somebody already reads it: its best loop with a certificate of how much better any loop could be in the model searched. With a wish the loop is searched for first.
         */
        post: operations["proof"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/reports": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** What people of the account say of sources */
        get: operations["reports"];
        put?: never;
        /** Report a source that the map lacks, or say a word on one that it has */
        post: operations["add-report"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/reports/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** Delete a report */
        delete: operations["delete-report"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/reports/{id}/confirmation": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Say that a reported source is there, or is not */
        post: operations["confirmation"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/reports/{id}/dispute": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Say that a reported source is there, or is not */
        post: operations["dispute"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/setups": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Ground and minutes for a meeting with a known helper
         * @description Open ground within a drive where helper and dog have parallel lines, ways in of their own, room to get away and little else near at that hour; what both do, minute by minute; how near they come at the worst.
         */
        post: operations["plan-setup"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/setups/handouts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * The sheets of a set-up
         * @description One page for the dog's side and one for the helper, as HTML to be printed. Name the car of an answer to have that one.
         */
        post: operations["print-setup"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/setups/pictures": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * The ground of a set-up drawn
         * @description Lines, ways in and distances as SVG at true scale.
         */
        post: operations["setup-picture"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/shared": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The one dog that a client's key opens */
        get: operations["shared"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/shares/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** End a key to a dog at once; one that has ended is deleted */
        delete: operations["revoke-share"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/sources": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Fixed sources in a box
         * @description Dog parks, schools, playgrounds and the like, with hours and how likely somebody is there.
         */
        post: operations["sources"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/streets": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Streets about a place, compared
         * @description The ways within 1,500 m of a place in four steps, from the calmest here to the hardest here, for one dog at one hour: bounds in minutes to one reaction, and runs to be drawn.
         */
        post: operations["streets"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/vantages": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Places to watch triggers from
         * @description Places with a line of sight to a lasting source of one kind at the wished distance, where one may stand, with ways out in grades and little of everything else.
         */
        post: operations["vantages"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Plan training visits that come nearer by small steps
         * @description A chain of visits from far to near, each with place, hour, stay, what it shows, the way there of at least five minutes and the way home; no step nearer by more than a quarter. What cannot be had is said with numbers. Keep it as a document of the kind visits.
         */
        post: operations["plan-visits"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/drawings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * A visit with what it is walked by
         * @description The visit for its hour, the whole of it as one walk, and what that walk is drawn from: all that a device needs to go without a network.
         */
        post: operations["draw-visit"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/handouts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * A visit on one page
         * @description Way in, where to stand and what for, way home, as HTML to be printed.
         */
        post: operations["print-visit"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/pictures": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * The place of a visit drawn
         * @description Where to stand, the line of sight with the dog's distances round what is watched, ways out, way in and home, as SVG at true scale.
         */
        post: operations["visit-picture"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/progress": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Move on, stay or go back?
         * @description What the rule says to the counts of past visits, with its evidence. A proposal: a person decides.
         */
        post: operations["visit-progress"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/replan": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Plan one visit for another hour
         * @description Same place, same thing watched, all numbers anew: a visit of a kept sequence by its number, or any by its place.
         */
        post: operations["replan-visit"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/{id}/copy": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** Plan a kept sequence anew for another dog */
        post: operations["copy-sequence"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/{id}/decisions": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /** A person decides: which visit is next, pause, go on */
        post: operations["decide-visit"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/visits/{id}/progress": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** Move on, stay or go back? From what was logged of a kept sequence */
        get: operations["sequence-progress"];
        put?: never;
        post?: never;
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/walks/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        /** Change a walk: its end, its note, that all is told */
        put: operations["set-walk"];
        post?: never;
        /** Delete a walk with its track and encounters */
        delete: operations["delete-walk"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/walks/{id}/track": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        /** The track of a walk */
        get: operations["track"];
        put?: never;
        /**
         * Attach a recorded track
         * @description A GPX 1.1 file, in the place of an earlier one. A fault is told with its line, and then nothing is kept. Where the points have times, what the walk was predicted to meet is worked out anew along the track.
         */
        post: operations["add-track"];
        /** Delete the track of a walk; the walk stays */
        delete: operations["delete-track"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/ways-out": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Way out
         * @description Here I am, there is the trigger, standing or coming: the way that keeps the most distance, at the dog's pace and at a brisk one. There is always an answer; its numbers say how good it is.
         */
        post: operations["way-out"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/ways-out/along": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Ways out along a walk
         * @description What to do when something turns up, every 40 m of a walk and for each side it may come from: to be kept by who walks without a network.
         */
        post: operations["ways-out-along"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/weeks": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Quiet hours
         * @description The same loop hour by hour: the best walk that each hour offers, and the best windows.
         */
        post: operations["week"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/where": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        /**
         * Where to go
         * @description One answer to where and when: from the door now, from the door at the best of the handler's free hours within a day, and at named places that a drive leads to, planned for the minute of arrival; ranked by expected reactions and strain, each with what it saves.
         */
        post: operations["where"];
        delete?: never;
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
    "/v1/words/{id}": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        get?: never;
        put?: never;
        post?: never;
        /** Take a trainer's word back; the record stays */
        delete: operations["withdraw-word"];
        options?: never;
        head?: never;
        patch?: never;
        trace?: never;
    };
}
export type webhooks = Record<string, never>;
export interface components {
    schemas: {
        "Accept-proposalRequest": {
            /**
             * Format: double
             * @description The working distance that the proposal started from.
             */
            from_working_m: number;
            /**
             * Format: double
             * @description As proposed.
             */
            to_working_m: number;
        };
        AdopterNote: {
            bite_history: boolean;
            /**
             * Format: int64
             * @description Of these, nothing went over.
             */
            calm_walks: number;
            /**
             * Format: int64
             * @description Looked back.
             */
            days: number;
            dog: string;
            /** @description In sentences; the caution is the last. */
            texts: string[];
            /**
             * Format: int64
             * @description Of which all was told, or on which something went over.
             */
            walks: number;
        };
        AidInfo: {
            /** @description What there is near to step behind, by the map, nearest first; empty where the map has nothing. */
            cover: components["schemas"]["CoverInfo"][];
            /** @description What to do, in order (common practice). Nothing outruns a loose dog. */
            do: ("food_on_the_ground" | "something_between" | "call_out" | "step_off")[];
            /**
             * @description The side with more room; left out where there is none on either.
             * @enum {string}
             */
            side?: "left" | "right";
            /**
             * Format: double
             * @description Room there, at most 40 m; -1 where there is none on either side.
             */
            side_m: number;
            /** @description The same in words. */
            words: string[];
        };
        AroundBody: {
            /**
             * @description West, south, east, north in degrees.
             * @example [
             *       -75.56,
             *       39.74,
             *       -75.54,
             *       39.75
             *     ]
             */
            bbox: [
                number,
                number,
                number,
                number
            ];
            /** @description RFC 3339 with its zone; left out: now. */
            depart?: string;
            dog?: components["schemas"]["DogFile"];
            /** @description As somebody says it is; left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        AroundSource: {
            /** @description Outer outlines, empty where only a place is known. */
            area: [
                number,
                number
            ][][];
            /** @description Seen from the walk. */
            in_sight: boolean;
            name: string;
            need: components["schemas"]["DrawnNeed"];
            /** @description Where it is too near. */
            reacts: [
                number,
                number
            ][];
            /** @description It is what a training visit watches. */
            watched?: boolean;
            /** @description Where the dog still works. */
            works: [
                number,
                number
            ][];
        };
        Belief: {
            /**
             * Format: int64
             * @description Meetings that it rests on.
             */
            encounters: number;
            /** Format: double */
            reaction_high_m: number;
            /** Format: double */
            reaction_low_m: number;
            /** Format: double */
            reaction_m: number;
            /** Format: double */
            working_high_m: number;
            /**
             * Format: double
             * @description Lower end of the 80 % interval.
             */
            working_low_m: number;
            /**
             * Format: double
             * @description As likely nearer as farther.
             */
            working_m: number;
        };
        Blocked: {
            by: components["schemas"]["Blocker"][];
            dog: string;
        };
        Blocker: {
            dog: string;
            /** Format: double */
            need_m: number;
            /**
             * Format: double
             * @description Of the starts that people leave open, how much it takes.
             */
            share: number;
        };
        Body: {
            /**
             * @description A table of dogs: name, room, minutes, who, bite in this order, or any columns under a head line.
             * @example name,room,minutes,who,bite
             *     Oro,60 m,30,exp,yes
             */
            dogs?: string;
            /** @description Where all walks leave, whose zone hours are in; left out where there is one map alone. */
            gate?: components["schemas"]["LatLon"];
            /**
             * Format: double
             * @description How long the outing may take: hours after midnight are of the next day where it lasts until then.
             */
            minutes?: number;
            /**
             * @description A table of people: name, experience, from, to in this order, or under a head line.
             * @example name,experience,from,to
             *     Ada,regular,09:00,11:00
             */
            people?: string;
            /**
             * @description First minute of the outing, RFC 3339: hours in the tables are of its day.
             * @example 2026-11-25T09:00:00-05:00
             */
            start: string;
        };
        Breach: {
            /** @description Clock. */
            at: string;
            /** @description The second is empty where one dog alone breaks it. */
            dogs: [
                string,
                string
            ];
            /**
             * @description hands: one person has two walks at once, or too soon one after the other. beside: two that go together do not. row: two of one row pass each other's kennels. ground: ground that is not to be shared, or not yet. rest: a dog that rests walks. heat: out in the hours, or for longer, than a hot day has.
             * @enum {string}
             */
            rule: "hands" | "beside" | "row" | "ground" | "rest" | "heat";
        };
        CalmerHour: {
            /** Format: double */
            calm_chance: number;
            /**
             * @description RFC 3339.
             * @example 2026-11-25T21:00:00-05:00
             */
            depart: string;
        };
        Cautions: {
            /** @description It has bitten: experienced people walk it, and only a trainer sets it nearer than 1.5 times its working distance. */
            bite_history?: boolean;
            /** @description Only for experienced handlers. */
            experienced_only?: boolean;
            /** @description What of its health whoever walks it must know. */
            medical?: string;
            /** @description Walks with a muzzle. */
            muzzle?: boolean;
            /** @description Wears a muzzle calmly, as it was taught to. */
            muzzle_trained?: boolean;
        };
        CheckBody: {
            /**
             * Format: int64
             * @description Random replays; left out: 300.
             */
            runs?: number;
            /** Format: int64 */
            seed?: number;
            timetable: components["schemas"]["Timetable"];
        };
        Circle: {
            at: components["schemas"]["LatLon"];
            /** Format: double */
            radius_m: number;
        };
        Contribution: {
            kind: string;
            name: string;
            /** Format: double */
            reactions: number;
        };
        CopyBody: {
            /** @description Id of the dog that it is for. */
            dog: string;
            /** @description Of the new document; left out: one of its own. */
            id?: string;
            /** @description When one could stand there, RFC 3339; left out: the times of the old one that are still to come, else four times a day on the next five days. */
            times?: string[];
        };
        CountLine: {
            /** Format: double */
            counted: number;
            /** Format: double */
            minutes: number;
            /**
             * Format: double
             * @description From the map alone, for the same place, hour and month.
             */
            predicted: number;
            start: string;
            street: string;
            /** @enum {string} */
            what: "dogs" | "people" | "wheels" | "traffic";
            /** Format: double */
            with_all_counts: number;
        };
        CountReport: {
            attribution: string;
            lines: components["schemas"]["CountLine"][];
            /**
             * Format: int64
             * @description Counts that lie on no way of this map.
             */
            off_the_map: number;
            /** @description By what was counted, of predictions from the map alone. */
            scores: components["schemas"]["CountScore"][];
        };
        CountScore: {
            /**
             * Format: int64
             * @description Counts with somebody both counted and predicted.
             */
            n: number;
            /**
             * Format: double
             * @description Geometric mean; 1 is right.
             */
            predicted_over_counted: number;
            /**
             * Format: double
             * @description Factor; left out where there is but one.
             */
            scatter?: number;
            /** @enum {string} */
            what: "dogs" | "people" | "wheels" | "traffic";
            /**
             * Format: int64
             * @description Of n: predictions within a factor of three.
             */
            within_three: number;
        };
        CoverInfo: {
            at: [
                number,
                number
            ];
            /** Format: double */
            distance_m: number;
            /**
             * @description What it belongs to, where the map says so.
             * @example 12 Race Walk
             */
            name?: string;
            /**
             * @description For somebody who faces the trigger; of a walk, along the walk.
             * @enum {string}
             */
            side: "ahead" | "back" | "left" | "right";
            /** @enum {string} */
            what: "gate" | "entrance" | "drive" | "parked_cars" | "shelter";
        };
        DayBody: {
            /** @description The timetable as it stands. */
            before: components["schemas"]["Timetable"];
            /**
             * Format: double
             * @description What changing a walk that has not begun weighs, in wished minutes not granted; left out: 10.
             */
            change_price?: number;
            /** @description People who do not come, or leave after what they are walking. */
            gone?: string[];
            late?: components["schemas"]["LatePerson"][];
            /** @description RFC 3339; left out: now. */
            now?: string;
            /** @description Dogs that are not walked after all. */
            out?: string[];
            /** @description As it was asked for. */
            outing: components["schemas"]["OutingBody"];
        };
        DecisionBody: {
            note?: string;
            /** @description Pause, or go on; left out: as it was. */
            paused?: boolean;
            /**
             * Format: int64
             * @description The visit that is next from now, from 1; left out: as it was.
             */
            to?: number;
            /**
             * Format: int64
             * @description Of the document that was looked at.
             */
            version: number;
        };
        "Delete-accountRequest": {
            /** @description The account's name. */
            name: string;
        };
        "Delete-dogRequest": {
            /** @description The dog's name, so that nobody deletes another by mistake. */
            name: string;
        };
        Demo: {
            dog: components["schemas"]["DogFile"];
            from: components["schemas"]["Place"];
            outing: components["schemas"]["DemoOuting"];
        };
        DemoOuting: {
            dogs: components["schemas"]["OutingDog"][];
            /** Format: double */
            minutes: number;
            people: components["schemas"]["OutingPerson"][];
        };
        DocumentBody: {
            /** @description Of the kind visits: wish (as sent to /v1/visits), sequence (its answer) and step, the number of the visit that is next, from 1; paused, note and what else one likes. Of the kind outings: what one likes, such as outing and timetable. */
            body: unknown;
            /** @description The dog that it is about; left out if about several. */
            dog?: string;
            /**
             * Format: int64
             * @description The one that was changed; 0 makes a new one.
             */
            version: number;
        };
        DogChangeBody: {
            profile: components["schemas"]["KeptProfile"];
            /**
             * Format: int64
             * @description The one that was changed.
             */
            version: number;
        };
        DogFile: {
            /** @description What whoever walks it must know. */
            cautions?: components["schemas"]["Cautions"];
            /**
             * @description What it works for.
             * @example cheese
             */
            food?: string;
            /**
             * @description What the dog is called.
             * @example Fern
             */
            name: string;
            /** @description Distances by kind or category; null for a kind that the dog is calm about. */
            needs: {
                [key: string]: components["schemas"]["DogNeed"];
            };
            /**
             * Format: double
             * @description Usual walking pace in m/s; 1.2 if left out.
             * @example 1.1
             */
            speed_mps?: number;
        };
        DogNeed: {
            /**
             * Format: double
             * @description Distance in metres at which half of the encounters go over threshold; half of working_m if left out.
             * @example 18
             */
            reaction_m?: number;
            /**
             * Format: double
             * @description Distance in metres at which the dog notices, still takes food and turns back.
             * @example 40
             */
            working_m: number;
        } | null;
        DogRespite: {
            /** @description Like 2026-11-26. */
            day: string;
            dog: string;
            /** @description It is walked all the same: walks_after_bad_day was said, or it had its walk in the timetable before. */
            overruled?: boolean;
            /** @description A day of rest; else far steps only. */
            rest: boolean;
            /** @description Why. */
            text: string;
        };
        Drawing: {
            /** @description Fixed sources near the walk with the dog's distances round them. */
            around: components["schemas"]["AroundSource"][];
            /** @description The same in metres along and beside the walk. */
            beside: components["schemas"]["StripSource"][];
            /** @description The walk in runs of ground of one step. */
            line: components["schemas"]["StepLine"][];
            /** @description The distances that lead this walk's expected reactions. */
            need: components["schemas"]["DrawnNeed"];
            /** @description Along the walk, for the walk unrolled. */
            profile: components["schemas"]["Profile"];
        };
        DrawnNeed: {
            /** @example dog_on_lead */
            kind: string;
            /** Format: double */
            reaction_m: number;
            /** Format: double */
            working_m: number;
        };
        DrawnOutingWalk: {
            dog: string;
            drawing: components["schemas"]["Drawing"];
            plan: components["schemas"]["Plan"];
        };
        DrawnPlan: {
            /** @description One for each walk. */
            drawings: components["schemas"]["Drawing"][];
            plan: components["schemas"]["PlanBody"];
        };
        EdgeProperties: {
            /**
             * Format: int32
             * @description For breakdowns.
             */
            edge: number;
            /** @enum {string} */
            level: "calm" | "some" | "tight" | "hard";
            name: string;
            /** Format: double */
            reactions_in_ten_minutes: number;
            /** Format: double */
            road_noise_db: number;
            room_default: boolean;
            /**
             * Format: double
             * @description Seen along the geometry.
             */
            room_left_m: number;
            /** Format: double */
            room_right_m: number;
            /** Format: double */
            sight_m: number;
            /**
             * Format: int64
             * @description Among the streets about: 1 calmest here to 4 hardest here. Left out where they were not compared.
             * @enum {integer}
             */
            step?: 1 | 2 | 3 | 4;
            /**
             * @description What it is on a map: crossings, drives and service roads are not compared.
             * @enum {string}
             */
            way: "street" | "path" | "crossing" | "drive" | "service";
        };
        Encounters: {
            /** @example dogs */
            category: string;
            /**
             * Format: double
             * @description Encounters in sight or hearing, however far off: tell them as seen, not as met. Inside is what comes near.
             */
            expected: number;
            /**
             * Format: double
             * @description Upper end of the 80 % interval of the count.
             */
            high: number;
            /**
             * Format: double
             * @description Encounters nearer than the working distance.
             */
            inside: number;
            /**
             * Format: double
             * @description Seconds nearer than the working distance.
             */
            inside_s: number;
            /** @example dog_on_lead */
            kind: string;
            /**
             * Format: double
             * @description Lower end of the 80 % interval of the count.
             */
            low: number;
            /**
             * Format: double
             * @description Expected reactions to this kind.
             */
            reactions: number;
        };
        ErrorDetail: {
            /** @description Where the error occurred, e.g. 'body.items[3].tags' or 'path.thing-id' */
            location?: string;
            /** @description Error message text */
            message?: string;
            /** @description The value at the given location */
            value?: unknown;
        };
        ExplainBody: {
            /** @description A place on the way, which is meant on whatever map is loaded. */
            at?: components["schemas"]["LatLon"];
            depart?: string;
            dog?: components["schemas"]["DogFile"];
            /**
             * Format: int32
             * @description From a plan's legs or from the hazard of a box, as it is loaded now; with at it is passed over where it lies elsewhere. Without at it is of the first map.
             */
            edge?: number;
            /** @description As somebody says it is; left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        Explanation: {
            /** @description What the levels rest on, by what the dog minds: counted here, counted elsewhere and how far off there, or assumed. */
            basis: string[];
            clock: string;
            /** @description It is dark, which doubles what traffic counts. */
            dark: boolean;
            /** @enum {string} */
            level: "calm" | "some" | "tight" | "hard";
            name: string;
            /**
             * Format: double
             * @description What of that is road noise, our assumption: none at 60 dB(A), in full from 70 on.
             */
            noise_strain_in_ten_minutes: number;
            /** Format: double */
            reactions_in_ten_minutes: number;
            /**
             * Format: double
             * @description Continuous road-traffic level by day, dB(A).
             */
            road_noise_db: number;
            /**
             * Format: double
             * @description Beside the reactions: what moving traffic and its noise count here, in the same unit.
             */
            strain_in_ten_minutes: number;
            terms: components["schemas"]["TermInfo"][];
            /** @description The roads that pass. */
            traffic: components["schemas"]["TrafficInfo"][];
            /**
             * Format: double
             * @description Crossings of four lanes or more without a crossing or signals, on the whole edge.
             */
            wide_crossings: number;
        };
        Feature: {
            geometry: components["schemas"]["LineString"];
            properties: components["schemas"]["EdgeProperties"];
            /** @enum {string} */
            type: "Feature";
        };
        FoundPlace: {
            at: components["schemas"]["LatLon"];
            /**
             * Format: double
             * @description From near, in a straight line; of a street, its nearest part.
             */
            away_m?: number;
            /** @description It fits only with letters of the text wrong or missing. */
            forgiven?: boolean;
            /**
             * @description What it is; ground is a park, a wood, a school or the like.
             * @enum {string}
             */
            kind: "settlement" | "ground" | "street" | "door" | "postcode";
            /** @description The house number that was typed, where the map does not have it in this street. */
            missing_number?: string;
            /** @example Weaver Row 12 */
            name: string;
            postcode?: string;
            /** @description That it lies in; taken from the nearest settlement. */
            town?: string;
        };
        FoundPlaces: {
            /** @description The best first. */
            places: components["schemas"]["FoundPlace"][];
        };
        GateCount: {
            /** Format: int64 */
            dogs: number;
            /**
             * Format: double
             * @description And coming home.
             */
            in_minutes: number;
            /**
             * Format: int64
             * @description A ceiling, not a promise.
             */
            most_walks: number;
            /**
             * Format: double
             * @description Minutes that a walk blocks the gate going out.
             */
            out_minutes: number;
            sufficient: boolean;
        };
        Given: {
            /**
             * @description Made of the rest: the same plan has the same.
             * @example pQ3xR9vTz0aW
             */
            id: string;
            /** @description Fingerprint of the network that the courses belong to. */
            map: string;
            /** @description Best first. */
            walks: components["schemas"]["GivenWalk"][];
            /** @description As it was understood, with its departure fixed. */
            wish: components["schemas"]["WishBody"];
        };
        GivenVisit: {
            /** @description Likewise. */
            line_home?: string;
            /** @description The same ground in degrees, as the server wrote it: the ways are matched by it where the map was changed. */
            line_in?: string;
            /** @description Fingerprint of the network that the ways belong to. */
            map: string;
            /** @description Likewise. */
            way_home: string;
            /** @description Directed edges of the network, as the server wrote them. */
            way_in: string;
        };
        GivenWalk: {
            /** Format: double */
            ceiling_s?: number;
            /** @description A longer proof can be asked for. */
            checking?: boolean;
            /** @description Directed edges of the network, as the server wrote them. */
            course: string;
            /** Format: int64 */
            laps?: number;
            /** @description The same ground in degrees, as the server wrote it: the walk is matched by it where the map was changed. */
            line?: string;
            /**
             * Format: double
             * @description Bound that the search proved on what it minimises.
             */
            lower?: number;
            proved?: boolean;
            /** @enum {string} */
            shape: "loop" | "there_and_back" | "way" | "longest_calm";
            /**
             * Format: double
             * @description What it minimised.
             */
            sum?: number;
            /** Format: double */
            within_percent?: number;
        };
        HandOutBody: {
            /** @description An hour with calmer walks, as a week told it; printed beside the answer. */
            calmer?: components["schemas"]["CalmerHour"];
            /**
             * @description What drives the dog, for the advice only.
             * @enum {string}
             */
            driver?: "fear" | "frustration" | "excitement";
            /** @description What the start is called; left out: its street. */
            from?: string;
            given?: components["schemas"]["Given"];
            /**
             * @description With given: the same walks told as begun at another hour, RFC 3339.
             * @example 2026-11-25T23:10:00-05:00
             */
            leave?: string;
            /**
             * @description Left out: A4.
             * @enum {string}
             */
            paper?: "a4" | "letter";
            /** @description Id of a kept plan. */
            plan?: string;
            /** @enum {string} */
            units?: "metric" | "us";
            /**
             * Format: int64
             * @description Which walk of the plan, counted from 0.
             */
            walk?: number;
            wish?: components["schemas"]["WishBody"];
        };
        Hazards: {
            attribution: string;
            features: components["schemas"]["Feature"][];
            /** @description The box holds more ways than are given at once. */
            truncated: boolean;
            /** @enum {string} */
            type: "FeatureCollection";
        };
        HealthOutputBody: {
            attribution: string;
            /** @description What the loaded extract shows; of several the first names. */
            map: string;
            /** @description Day of the extract; of several of the oldest. */
            map_time?: string;
            /** @enum {string} */
            status: "ok";
            time_zone: string;
            version: string;
        };
        HeatBody: {
            /** @description RFC 3339: nobody is out from then; left out: 11:00 of the day (common practice). */
            from?: string;
            /**
             * Format: double
             * @description Of a walk, 5 to 90; left out: 20 (common practice).
             */
            most_minutes?: number;
            /** @description RFC 3339: until then; left out: 17:00 (common practice). */
            to?: string;
        };
        Help: {
            dogs?: string[];
            /** Format: double */
            minutes?: number;
            text: string;
            /** @enum {string} */
            what: "holds" | "minutes" | "person" | "together" | "without";
        };
        HelperBody: {
            /** @description The helper dog has bitten. */
            bite_history?: boolean;
            /**
             * @description A calm helper is worked with from 0.8 of the distance, a lively one from 1.3 (assumed); left out: usual.
             * @enum {string}
             */
            calmness?: "calm" | "usual" | "lively";
            /** @description A kept dog as the helper: its name, muzzle training and bite history hold. */
            dog_id?: string;
            /**
             * @description A kind of trigger that moves; left out: dog_on_lead.
             * @example dog_on_lead
             */
            kind?: string;
            /** @description The helper dog wears a muzzle calmly, as it was taught to. */
            muzzle_trained?: boolean;
            /**
             * @description What the helper is called, of one that is not kept.
             * @example Tilly
             */
            name?: string;
            /** @description Id of what a trainer said in writing (POST /v1/dogs/{id}/words) of this dog and this helper. Needed where one of the two has bitten and one of them is not muzzle-trained. */
            trainer_word?: string;
        };
        Hold: {
            at: [
                number,
                number
            ];
            /** @example 2026-11-25T09:14:20-05:00 */
            not_before: string;
            /** Format: double */
            progress_s: number;
        };
        HourInfo: {
            /** Format: double */
            calm_chance: number;
            dark: boolean;
            /** @example 2026-11-25T07:00:00-05:00 */
            depart: string;
            /** Format: double */
            duration_s: number;
            /** Format: double */
            expected_reactions: number;
            /** @description There is a walk that keeps the limits. */
            found: boolean;
            /** @description Within the free hours and, unless they say otherwise, in daylight or on lit ways. */
            free: boolean;
            /** @enum {string} */
            level: "calm" | "some" | "tight" | "hard";
            /** @description What adds most to it. */
            most: string;
            most_kind: string;
            /**
             * Format: double
             * @description What moving traffic, wide crossings and the dark count beside them; hours are ranked by both.
             */
            strain: number;
        };
        KeepBody: {
            /**
             * @description A sort of place (school), a kind or a category of trigger.
             * @example school
             */
            from: string;
            /**
             * Format: double
             * @example 60
             */
            m: number;
        };
        KeptAccount: {
            name: string;
            settings: components["schemas"]["KeptSettings"];
            /** @description The person that the token belongs to. */
            you: components["schemas"]["KeptPerson"];
        };
        KeptAnswers: {
            /**
             * Format: double
             * @description From how far the dog notices; null if not known.
             * @example 60
             */
            notices_at?: number | null;
            /**
             * Format: double
             * @description At how far it barks, lunges or freezes.
             * @example 18
             */
            reacts_at?: number | null;
            /**
             * Format: double
             * @description At how far it stops eating.
             * @example 25
             */
            stops_eating_at?: number | null;
            /**
             * Format: double
             * @description From how far it still takes food and turns back.
             * @example 40
             */
            takes_food_at?: number | null;
            /**
             * @description Of the four distances; metres if left out.
             * @enum {string}
             */
            unit?: "m" | "ft";
        };
        KeptChange: {
            /** Format: date-time */
            at: string;
            evidence?: components["schemas"]["KeptEvidence"];
            from: components["schemas"]["KeptDistance"];
            id: string;
            /**
             * @description Kind or category.
             * @example dog_on_lead
             */
            name: string;
            /** @description Who changed it. */
            person?: string;
            /** @description The change that this one takes back. */
            reverts?: string;
            to: components["schemas"]["KeptDistance"];
            /** @description What the distance stood under before: the name itself, or the category it inherited from; empty where it had none. */
            under: string;
            /** @enum {string} */
            why: "said" | "learnt" | "reverted";
        };
        KeptCount: {
            /** Format: date-time */
            created: string;
            /**
             * Format: double
             * @description Left out: not counted. So with the next three.
             * @example 2
             */
            dogs?: number;
            id: string;
            /**
             * Format: double
             * @description Where, in degrees, within 25 m of the street.
             * @example 39.7501
             */
            lat: number;
            /**
             * Format: double
             * @example -75.5502
             */
            lon: number;
            /**
             * Format: double
             * @example 10
             */
            minutes: number;
            /** @description The asker counted. */
            own: boolean;
            /**
             * Format: double
             * @description On foot and without a dog.
             * @example 14
             */
            people?: number;
            /**
             * Format: date-time
             * @description When it began, with its zone.
             * @example 2026-11-25T07:10:00-05:00
             */
            start: string;
            /**
             * Format: double
             * @description Motor vehicles.
             * @example 41
             */
            traffic?: number;
            /**
             * Format: double
             * @description Bicycles, scooters and boards.
             * @example 3
             */
            wheels?: number;
        };
        KeptCountInput: {
            /**
             * Format: double
             * @description Left out: not counted. So with the next three.
             * @example 2
             */
            dogs?: number;
            /** @description Chosen by the client: what is sent twice under one key is kept once. */
            key?: string;
            /**
             * Format: double
             * @description Where, in degrees, within 25 m of the street.
             * @example 39.7501
             */
            lat: number;
            /**
             * Format: double
             * @example -75.5502
             */
            lon: number;
            /**
             * Format: double
             * @example 10
             */
            minutes: number;
            /**
             * Format: double
             * @description On foot and without a dog.
             * @example 14
             */
            people?: number;
            /**
             * Format: date-time
             * @description When it began, with its zone.
             * @example 2026-11-25T07:10:00-05:00
             */
            start: string;
            /**
             * Format: double
             * @description Motor vehicles.
             * @example 41
             */
            traffic?: number;
            /**
             * Format: double
             * @description Bicycles, scooters and boards.
             * @example 3
             */
            wheels?: number;
        };
        KeptDistance: {
            /** @description The dog does not react to it. */
            calm?: boolean;
            /**
             * @description Where it comes from; unknown is the stated wide default.
             * @enum {string}
             */
            from: "said" | "intake" | "unknown" | "learnt";
            /** @description What was said before any walk: what learning starts from. */
            prior: components["schemas"]["KeptPrior"];
            /** Format: double */
            reaction_m: number;
            /** Format: date-time */
            since: string;
            /** Format: double */
            working_m: number;
        };
        KeptDocument: {
            body: unknown;
            /** Format: date-time */
            created: string;
            /** @description The dog that it is about; left out if about several. */
            dog?: string;
            id: string;
            kind: string;
            /** Format: date-time */
            updated: string;
            /**
             * Format: int64
             * @description Goes up with each change; 0 makes a new one.
             */
            version: number;
        };
        KeptDocumentHead: {
            /**
             * Format: int64
             * @description Of its body, which is asked for by its id.
             */
            bytes: number;
            /** Format: date-time */
            created: string;
            /** @description The dog that it is about; left out if about several. */
            dog?: string;
            id: string;
            kind: string;
            /** Format: date-time */
            updated: string;
            /**
             * Format: int64
             * @description Goes up with each change; 0 makes a new one.
             */
            version: number;
        };
        KeptDog: {
            /** Format: date-time */
            created: string;
            /** @description By kind or category: what plans use now. */
            distances: {
                [key: string]: components["schemas"]["KeptDistance"];
            };
            /** @description It snapped or bit on a walk; a trainer lifts it. */
            flag?: components["schemas"]["KeptFlag"];
            /**
             * Format: date-time
             * @description What was logged before this moment raises no flag.
             */
            flag_lifted?: string;
            id: string;
            profile: components["schemas"]["KeptProfile"];
            /** Format: date-time */
            updated: string;
            /**
             * Format: int64
             * @description Goes up with each change; send it back to change the dog.
             */
            version: number;
        };
        KeptEncounter: {
            /**
             * Format: date-time
             * @example 2026-11-25T07:27:00-05:00
             */
            at: string;
            /** Format: date-time */
            created: string;
            /**
             * Format: double
             * @description Nearest distance in metres. Left out with about, nearer_than or farther_than: the dog's working distance.
             * @example 24
             */
            distance_m?: number;
            dog: string;
            /** Format: double */
            duration_s?: number;
            /** @enum {string} */
            food?: "taken" | "refused";
            id: string;
            /**
             * @description Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same.
             * @example phone-7/0042
             */
            key?: string;
            /**
             * @description Kind, or category if no more is known; left out: a draft.
             * @example dog_on_lead
             */
            kind?: string;
            /** Format: double */
            lat?: number;
            /**
             * Format: int64
             * @description Leg of the plan, from 0, where no place is known.
             */
            leg?: number;
            /** Format: double */
            lon?: number;
            /**
             * @description How distance_m is meant; left out with it: nobody knows.
             * @enum {string}
             */
            nearest?: "exact" | "about" | "nearer_than" | "farther_than" | "between";
            note?: string;
            /**
             * Format: double
             * @description Distance in metres when the dog first noticed.
             */
            noticed_m?: number;
            /**
             * @description Went over threshold, and how; left out: it did not. A snap or a bite flags the dog: nothing nearer is proposed until a trainer lifts that.
             * @enum {string}
             */
            over?: "bark" | "lunge" | "freeze" | "snap" | "bite" | "other";
            person?: string;
            /** @description Kind of place, from the map. */
            place_kind?: string;
            /** @description It was taken back; nothing but its key is kept. */
            removed?: boolean;
            /** @description Appeared without warning. */
            sudden?: boolean;
            /**
             * Format: double
             * @description Upper end of between.
             */
            to_m?: number;
            /** @description Turned back to the handler unprompted. */
            turned_back?: boolean;
            /**
             * @description Key or id of its walk, which may arrive later.
             * @example phone-7/2026-11-25T07:10
             */
            walk?: string;
        };
        KeptEncounterInput: {
            /**
             * Format: date-time
             * @example 2026-11-25T07:27:00-05:00
             */
            at: string;
            /**
             * Format: double
             * @description Nearest distance in metres. Left out with about, nearer_than or farther_than: the dog's working distance.
             * @example 24
             */
            distance_m?: number;
            /** Format: double */
            duration_s?: number;
            /** @enum {string} */
            food?: "taken" | "refused";
            /**
             * @description Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same.
             * @example phone-7/0042
             */
            key?: string;
            /**
             * @description Kind, or category if no more is known; left out: a draft.
             * @example dog_on_lead
             */
            kind?: string;
            /** Format: double */
            lat?: number;
            /**
             * Format: int64
             * @description Leg of the plan, from 0, where no place is known.
             */
            leg?: number;
            /** Format: double */
            lon?: number;
            /**
             * @description How distance_m is meant; left out with it: nobody knows.
             * @enum {string}
             */
            nearest?: "exact" | "about" | "nearer_than" | "farther_than" | "between";
            note?: string;
            /**
             * Format: double
             * @description Distance in metres when the dog first noticed.
             */
            noticed_m?: number;
            /**
             * @description Went over threshold, and how; left out: it did not. A snap or a bite flags the dog: nothing nearer is proposed until a trainer lifts that.
             * @enum {string}
             */
            over?: "bark" | "lunge" | "freeze" | "snap" | "bite" | "other";
            /** @description Appeared without warning. */
            sudden?: boolean;
            /**
             * Format: double
             * @description Upper end of between.
             */
            to_m?: number;
            /** @description Turned back to the handler unprompted. */
            turned_back?: boolean;
            /**
             * @description Key or id of its walk, which may arrive later.
             * @example phone-7/2026-11-25T07:10
             */
            walk?: string;
        };
        KeptEverything: {
            documents: components["schemas"]["KeptDocument"][];
            dog: components["schemas"]["KeptDog"];
            encounters: components["schemas"]["KeptEncounter"][];
            /** Format: date-time */
            exported: string;
            history: components["schemas"]["KeptChange"][];
            plans: components["schemas"]["KeptPlan"][];
            /** @description By walk. */
            tracks: {
                [key: string]: components["schemas"]["KeptStamp"][];
            };
            walks: components["schemas"]["KeptWalk"][];
            /** @description What trainers said in writing of its meetings. */
            words: components["schemas"]["KeptWord"][];
        };
        KeptEvidence: {
            /**
             * Format: int64
             * @description Reactions beyond the working distance that held.
             */
            beyond?: number;
            /** @description The evidence points nearer still, but one step comes no nearer than by a quarter; or farther still, but no farther than one and a half times where the dog was seen to react. */
            capped: boolean;
            /**
             * Format: double
             * @description That the true distance lies on the proposed side of the present one.
             */
            chance: number;
            /**
             * Format: double
             * @description Older ones count less.
             */
            effective_encounters: number;
            /** Format: int64 */
            encounters: number;
            /**
             * Format: int64
             * @description Of them noticed late or sudden.
             */
            late: number;
            /** @description Most were noticed late: the distance may be too low. */
            late_bias: boolean;
            /** Format: double */
            reaction_high_m: number;
            /** Format: double */
            reaction_low_m: number;
            /** Format: double */
            working_high_m: number;
            /**
             * Format: double
             * @description Lower end of the 80 % interval.
             */
            working_low_m: number;
        };
        KeptExpected: {
            /** Format: double */
            inside: number;
            kind: string;
            part: string;
            place: string;
            /**
             * Format: double
             * @description The distance it was counted within.
             */
            working_m: number;
        };
        KeptFlag: {
            /** Format: date-time */
            at: string;
            /** @description The meeting. */
            encounter: string;
            /** @enum {string} */
            over: "snap" | "bite";
        };
        KeptFreeHours: {
            /**
             * @description Hours of the clock on the wall, over midnight too; left out: 06:00-22:00.
             * @example [
             *       "06:30-08:00",
             *       "17:00-21:30"
             *     ]
             */
            spans?: string[];
            /** @description Also on unlit ways in the dark; left out: in daylight or on lit ways. */
            unlit?: boolean;
        };
        KeptLimit: {
            /** Format: int64 */
            most: number;
            /** @enum {string} */
            of: "one" | "account" | "person" | "dog";
            /** @enum {string} */
            unit?: "bytes";
            what: string;
        };
        KeptPerson: {
            /** @description Ids of the dogs that a handler is given; trainers and keepers have all. */
            dogs: string[];
            id: string;
            keys: components["schemas"]["KeptToken"][];
            /** @example Robin */
            name: string;
            /** @enum {string} */
            role: "handler" | "trainer" | "keeper";
        };
        KeptPlan: {
            /** @description The plan as it was answered. */
            body: unknown;
            /** Format: date-time */
            created: string;
            dog: string;
            id: string;
            /** @description What identifies the map that it was made on. */
            map: string;
            person?: string;
        };
        KeptPlanHead: {
            /**
             * Format: int64
             * @description Of its body, which is asked for by its id.
             */
            bytes: number;
            /** Format: date-time */
            created: string;
            dog: string;
            id: string;
            person?: string;
        };
        KeptPrior: {
            /** @description Whether anything was said; else the stated wide default. */
            known: boolean;
            /**
             * Format: double
             * @description How unsure, as the standard deviation of the natural log of the working distance.
             */
            log_sd: number;
            /** Format: double */
            reaction_m: number;
            /** Format: double */
            working_m: number;
        };
        KeptProfile: {
            cautions?: components["schemas"]["Cautions"];
            /**
             * @description What drives it: for the advice only, not for the figures.
             * @enum {string}
             */
            drive?: "fear" | "frustration" | "excitement" | "unknown";
            /**
             * @description What it works for.
             * @example cheese
             */
            food?: string;
            /** @description Plain answers by kind or category, from which distances are derived; needs go first. */
            intake?: {
                [key: string]: components["schemas"]["KeptAnswers"];
            };
            /** @example Fern */
            name: string;
            /** @description Distances by kind or category, in metres; null for one that the dog is calm about. */
            needs?: {
                [key: string]: components["schemas"]["DogNeed"];
            };
            /**
             * Format: double
             * @description Seconds between pieces of food while a trigger lasts; 2 to 4 is common practice.
             * @example 3
             */
            reward_interval_s?: number;
            /**
             * Format: double
             * @description Usual walking pace in m/s; 1.2 if left out.
             * @example 1.1
             */
            speed_mps?: number;
        };
        KeptReport: {
            /** @description Or an area: corners as longitude, latitude. */
            area?: [
                number,
                number
            ][];
            /**
             * Format: int64
             * @description People who say it is there.
             */
            confirmed_by: number;
            /** Format: date-time */
            created: string;
            /** Format: int64 */
            disputed_by: number;
            /**
             * Format: date-time
             * @description It is gone from then on.
             * @example 2027-03-31T00:00:00Z
             */
            ends?: string;
            /**
             * @description When it is there, in the notation of opening_hours; left out: by the usual hours of its kind.
             * @example Th 19:00-20:30
             */
            hours?: string;
            id: string;
            /**
             * @description Kind of trigger; not needed where mapped is given.
             * @example dog_behind_fence
             */
            kind?: string;
            /**
             * Format: double
             * @example 39.7501
             */
            lat?: number;
            /** @description It counts in plans. */
            live: boolean;
            /**
             * Format: double
             * @example -75.5502
             */
            lon?: number;
            /**
             * @description A source that the map has, to confirm or dispute.
             * @example way/1234
             */
            mapped?: string;
            /**
             * Format: double
             * @description How many are there when it is busy, 1 if left out; of a sound that comes in events, how many a day.
             */
            number?: number;
            /**
             * Format: double
             * @description Probability that it is there: fades unless somebody confirms it.
             */
            presence: number;
            /**
             * Format: double
             * @description Extent round the place; 5 m if left out.
             */
            radius_m?: number;
            /**
             * Format: date-time
             * @description When somebody last confirmed or disputed it.
             */
            spoken: string;
            /** @description True: it is there. False disputes a source that the map has: it is not there. */
            there: boolean;
            /**
             * @description In a few words.
             * @example dog behind the green fence
             */
            what?: string;
        };
        KeptReportInput: {
            /** @description Or an area: corners as longitude, latitude. */
            area?: [
                number,
                number
            ][];
            /**
             * Format: date-time
             * @description It is gone from then on.
             * @example 2027-03-31T00:00:00Z
             */
            ends?: string;
            /**
             * @description When it is there, in the notation of opening_hours; left out: by the usual hours of its kind.
             * @example Th 19:00-20:30
             */
            hours?: string;
            /**
             * @description Kind of trigger; not needed where mapped is given.
             * @example dog_behind_fence
             */
            kind?: string;
            /**
             * Format: double
             * @example 39.7501
             */
            lat?: number;
            /**
             * Format: double
             * @example -75.5502
             */
            lon?: number;
            /**
             * @description A source that the map has, to confirm or dispute.
             * @example way/1234
             */
            mapped?: string;
            /**
             * Format: double
             * @description How many are there when it is busy, 1 if left out; of a sound that comes in events, how many a day.
             */
            number?: number;
            /**
             * Format: double
             * @description Extent round the place; 5 m if left out.
             */
            radius_m?: number;
            /** @description True: it is there. False disputes a source that the map has: it is not there. */
            there: boolean;
            /**
             * @description In a few words.
             * @example dog behind the green fence
             */
            what?: string;
        };
        KeptSettings: {
            /** @enum {string} */
            clock: "12" | "24";
            /** @description When its people can go out; left out: 06:00-22:00 in daylight or on lit ways. */
            free_hours?: components["schemas"]["KeptFreeHours"];
            /**
             * Format: int64
             * @description A walk counts half after so many days when distances are learnt.
             * @example 60
             */
            half_life_days: number;
            /** @description Handlers see timetables whole, with dogs that they are not given. Left out: only those in which all dogs are theirs. */
            handlers_see_outings?: boolean;
            /**
             * Format: int64
             * @description Tracks of walks are deleted after so many days; 0 keeps none.
             * @example 365
             */
            keep_tracks_days: number;
            /** @description When training moves on; left out: common practice. */
            training_rule?: components["schemas"]["KeptTrainingRule"];
            /**
             * @description What distances are shown in; they are kept in metres.
             * @enum {string}
             */
            units: "m" | "ft";
        };
        KeptShare: {
            /** Format: date-time */
            created: string;
            dog: string;
            /** Format: date-time */
            expires: string;
            id: string;
            /** @example Family Birch */
            label: string;
            revoked: boolean;
            /** @description Day of its last use. */
            seen?: string;
        };
        KeptStamp: {
            /** Format: date-time */
            at?: string;
            /** Format: double */
            lat: number;
            /** Format: double */
            lon: number;
        };
        KeptToken: {
            /** Format: date-time */
            created: string;
            /** Format: date-time */
            expires: string;
            id: string;
            /** @example Robin's phone */
            label: string;
            revoked: boolean;
            /** @description Day of its last use. */
            seen?: string;
        };
        KeptTrainingRule: {
            /**
             * Format: double
             * @description Of the triggers of a good visit, food taken or turned back, none over threshold.
             * @example 0.8
             */
            handled_share: number;
            /**
             * Format: int64
             * @description A visit with fewer says nothing either way.
             * @example 1
             */
            least_triggers: number;
            /**
             * Format: int64
             * @description Over threshold so often in the last visit: one step back.
             * @example 1
             */
            over_for_back: number;
            /**
             * Format: int64
             * @description Food refused so often in the last visits: one step back.
             * @example 2
             */
            refusals_for_back: number;
            /**
             * Format: int64
             * @description Good visits in a row on one step before moving on.
             * @example 2
             */
            visits_in_a_row: number;
        };
        KeptWalk: {
            /** @description Nothing else was met: what is not logged did not happen. Only such walks teach how busy the place is. */
            all_told?: boolean;
            /** Format: date-time */
            created: string;
            dog: string;
            /**
             * Format: date-time
             * @example 2026-11-25T07:41:00-05:00
             */
            ended?: string;
            /** @description What was predicted, nearer than the working distance, by kind, kind of place and part of the day. */
            expected?: components["schemas"]["KeptExpected"][];
            id: string;
            /**
             * @description Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same.
             * @example phone-7/2026-11-25T07:10
             */
            key?: string;
            note?: string;
            /** @description Who logged it. */
            person?: string;
            /** @description Id of the plan that was walked. */
            plan?: string;
            /**
             * Format: int64
             * @description Which walk of the plan, from 0.
             */
            plan_walk?: number;
            /** @description Of a training visit: the document of the kind visits that it belongs to. */
            sequence?: string;
            /**
             * Format: date-time
             * @example 2026-11-25T07:10:00-05:00
             */
            started: string;
            /** @description A track is kept. */
            track: boolean;
            /**
             * Format: int64
             * @description And which of its visits, from 1.
             */
            visit?: number;
        };
        KeptWalkInput: {
            /** @description Nothing else was met: what is not logged did not happen. Only such walks teach how busy the place is. */
            all_told?: boolean;
            /**
             * Format: date-time
             * @example 2026-11-25T07:41:00-05:00
             */
            ended?: string;
            /**
             * @description Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same.
             * @example phone-7/2026-11-25T07:10
             */
            key?: string;
            note?: string;
            /** @description Id of the plan that was walked. */
            plan?: string;
            /**
             * Format: int64
             * @description Which walk of the plan, from 0.
             */
            plan_walk?: number;
            /** @description Of a training visit: the document of the kind visits that it belongs to. */
            sequence?: string;
            /**
             * Format: date-time
             * @example 2026-11-25T07:10:00-05:00
             */
            started: string;
            /**
             * Format: int64
             * @description And which of its visits, from 1.
             */
            visit?: number;
        };
        KeptWord: {
            /** Format: date-time */
            at: string;
            /** @description Their name then: it stands when they have left. */
            by: string;
            dog: string;
            /**
             * @description Who is met: the name of the helper, as the meeting names it; left out with helper_dog.
             * @example Tilly
             */
            helper?: string;
            /** @description Or the id of a kept dog. */
            helper_dog?: string;
            id: string;
            /** @description Who said it. */
            person: string;
            /**
             * Format: date-time
             * @description It was taken back then, and allows nothing since.
             */
            withdrawn?: string;
            /**
             * @description Why the two may meet all the same, and how.
             * @example Basket muzzle on Oro from next week. Until then no nearer than 40 m, I am there.
             */
            words: string;
        };
        KeptWordInput: {
            /**
             * @description Who is met: the name of the helper, as the meeting names it; left out with helper_dog.
             * @example Tilly
             */
            helper?: string;
            /** @description Or the id of a kept dog. */
            helper_dog?: string;
            /**
             * @description Why the two may meet all the same, and how.
             * @example Basket muzzle on Oro from next week. Until then no nearer than 40 m, I am there.
             */
            words: string;
        };
        Lack: {
            /** Format: double */
            distance_m?: number;
            instead?: components["schemas"]["Stay"];
            /**
             * Format: double
             * @description Of the calmest visit there is, besides what is watched, where these forbid.
             */
            least_reactions?: number;
            /** Format: double */
            multiple?: number;
            text: string;
            /** @enum {string} */
            why: "ground" | "hours" | "reactions" | "way_in" | "steps" | "helper" | "pin" | "bite" | "rest" | "one_hour";
        };
        LatLon: {
            /**
             * Format: double
             * @example 39.75
             */
            lat: number;
            /**
             * Format: double
             * @example -75.55
             */
            lon: number;
        };
        LatePerson: {
            /**
             * Format: int64
             * @description From now, not from the printed time: whoever has not set out is there so many minutes after now; a walk under way runs so much behind its printed times.
             */
            minutes: number;
            /** @description Has not set out, whatever the timetable says. */
            not_out?: boolean;
            person: string;
        };
        Lead: {
            /** @description These hold of all walks, moved as one. */
            all?: boolean;
            /**
             * @description people: nobody who may take the dog can leave sooner. room: another dog would be too near. calmer: sooner, what the walks bring outweighs the wait. spare: the outing has more minutes than the walks need.
             * @enum {string}
             */
            cause: "people" | "room" | "calmer" | "spare";
            /** @description Of the first walk. */
            dog: string;
            /**
             * Format: int64
             * @description Of the outing from which somebody who may take the dog can leave.
             */
            from_minute: number;
            /**
             * Format: int64
             * @description Of the outing at which it passes the gate.
             */
            minute: number;
            /**
             * Format: double
             * @description How far the two must stay apart.
             */
            need_m?: number;
            /** @description The dog in its way, where room. */
            other?: string;
            person: string;
            /**
             * Format: int64
             * @description Minutes sooner at which its walk would keep every rule; where spare or calmer.
             */
            spare_minutes?: number;
            /**
             * Format: int64
             * @description From the first dog out to the last one home.
             */
            takes_minutes: number;
        };
        Leg: {
            /**
             * @description Local time at its beginning.
             * @example 07:14
             */
            clock: string;
            /** @description Where none is in reach: what there is to step behind at the middle of the leg, nearest first; sides as one walks. */
            cover?: components["schemas"]["CoverInfo"][];
            /** @description Dogs may be forbidden or bound on part of it: look at the sign. */
            dog_rules?: boolean;
            /** Format: double */
            duration_s: number;
            /** @description Network edges walked, for breakdowns. */
            edges: number[];
            encounters: components["schemas"]["Encounters"][];
            /** Format: double */
            expected_reactions: number;
            geometry: components["schemas"]["LineString"];
            /**
             * @description The side with more room.
             * @enum {string}
             */
            keep?: "left" | "right";
            /**
             * Format: double
             * @description The least, along the leg, of the better side.
             */
            least_room_m: number;
            /** Format: double */
            length_m: number;
            /** @enum {string} */
            level: "calm" | "some" | "tight" | "hard";
            /** @description Street name, or what the way is. */
            name: string;
            /**
             * Format: double
             * @description Continuous road-traffic level, dB(A).
             */
            road_noise_db: number;
            /** @description Room is a default of the street's class, not measured. */
            room_default: boolean;
            /** Format: double */
            room_left_m: number;
            /** Format: double */
            room_right_m: number;
            /** Format: double */
            sight_m: number;
            /** Format: double */
            start_s: number;
            /** Format: double */
            strain: number;
            /** @enum {string} */
            turn: "start" | "straight" | "left" | "right" | "half_left" | "half_right" | "sharp_left" | "sharp_right" | "back";
            /**
             * Format: double
             * @description Room there, or here where none is in reach.
             */
            way_out_room_m: number;
            /**
             * Format: double
             * @description Seconds at a brisk pace to the nearest place with the room the dog needs; -1 where none is in reach.
             */
            way_out_s: number;
            /**
             * @description left or right of the way, ahead or back along it.
             * @enum {string}
             */
            way_out_side?: "left" | "right" | "ahead" | "back";
        };
        LimitsBody: {
            /** @description Private drives, ways through buildings and the aisles of car parks too. */
            any_ground?: boolean;
            avoid?: components["schemas"]["Circle"][];
            /** @description Street names not to walk. */
            avoid_ways?: string[];
            /** @description Cross roads of four lanes and more only at mapped crossings and signals. */
            cross_at_crossings?: boolean;
            /** @description Walk inside the reaction distance of active sources all the same. */
            inside_reaction_distance?: boolean;
            /** @description Only ways tagged as lit, while the sun is down. */
            lit_only?: boolean;
            /**
             * Format: double
             * @description Continuous road noise, dB(A).
             */
            max_road_noise_db?: number;
            /**
             * Format: double
             * @description Rise over run; needs a map imported with heights.
             * @example 0.08
             */
            max_slope?: number;
            never_nearer?: components["schemas"]["KeepBody"][];
            no_steps?: boolean;
            /** @description No main road without a pavement. */
            off_roads?: boolean;
            paved_only?: boolean;
            /**
             * Format: double
             * @description Never farther from the start than this.
             */
            within_m?: number;
        };
        LineString: {
            coordinates: [
                number,
                number
            ][];
            /** @enum {string} */
            type: "LineString";
        };
        Lists: {
            dogs: components["schemas"]["OutingDog"][];
            /** @description Columns that are not known: nothing in them was read. */
            passed_over: string[];
            people: components["schemas"]["OutingPerson"][];
        };
        Load: {
            /**
             * Format: int64
             * @description Longest time without a walk between the first and the last hour there.
             */
            break_minutes: number;
            /**
             * Format: int64
             * @description Minute of the outing of the first walk, -1 for none.
             */
            first_minute: number;
            person: string;
            /** Format: int64 */
            there_minutes: number;
            /**
             * Format: int64
             * @description At the slowest pace.
             */
            walk_minutes: number;
            /** Format: int64 */
            walks: number;
        };
        LoggedEncounter: {
            /** @description After a snap or a bite: what to do and whom to call. */
            advice?: string[];
            /**
             * Format: date-time
             * @example 2026-11-25T07:27:00-05:00
             */
            at: string;
            /** Format: date-time */
            created: string;
            /**
             * Format: double
             * @description Nearest distance in metres. Left out with about, nearer_than or farther_than: the dog's working distance.
             * @example 24
             */
            distance_m?: number;
            dog: string;
            /** Format: double */
            duration_s?: number;
            /** @enum {string} */
            food?: "taken" | "refused";
            id: string;
            /**
             * @description Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same.
             * @example phone-7/0042
             */
            key?: string;
            /**
             * @description Kind, or category if no more is known; left out: a draft.
             * @example dog_on_lead
             */
            kind?: string;
            /** Format: double */
            lat?: number;
            /**
             * Format: int64
             * @description Leg of the plan, from 0, where no place is known.
             */
            leg?: number;
            /** Format: double */
            lon?: number;
            /**
             * @description How distance_m is meant; left out with it: nobody knows.
             * @enum {string}
             */
            nearest?: "exact" | "about" | "nearer_than" | "farther_than" | "between";
            note?: string;
            /**
             * Format: double
             * @description Distance in metres when the dog first noticed.
             */
            noticed_m?: number;
            /**
             * @description Went over threshold, and how; left out: it did not. A snap or a bite flags the dog: nothing nearer is proposed until a trainer lifts that.
             * @enum {string}
             */
            over?: "bark" | "lunge" | "freeze" | "snap" | "bite" | "other";
            person?: string;
            /** @description Kind of place, from the map. */
            place_kind?: string;
            /** @description It was taken back; nothing but its key is kept. */
            removed?: boolean;
            /** @description Appeared without warning. */
            sudden?: boolean;
            /**
             * Format: double
             * @description Upper end of between.
             */
            to_m?: number;
            /** @description Turned back to the handler unprompted. */
            turned_back?: boolean;
            /**
             * @description Key or id of its walk, which may arrive later.
             * @example phone-7/2026-11-25T07:10
             */
            walk?: string;
        };
        "Make-keyRequest": {
            /**
             * Format: int64
             * @description How long it holds; left out: a year.
             */
            days?: number;
            /** @example Robin's phone */
            label?: string;
        };
        "Make-shareRequest": {
            /**
             * Format: int64
             * @description How long it holds; left out: 30.
             */
            days?: number;
            /** @example Family Birch */
            label?: string;
        };
        MapInfo: {
            attribution: string;
            /** @description West, south, east, north in degrees. */
            bbox: [
                number,
                number,
                number,
                number
            ];
            /** @description There only if the map is the invented town. */
            demo?: components["schemas"]["Demo"];
            /** @description Of the extract, RFC 3339. */
            map_time?: string;
            /** @description Where there are several: what each shows. The others of these answers are of the first, or of that of the place asked about; bbox holds all. */
            maps?: components["schemas"]["MapThere"][];
            name: string;
            /** @description This server's clock, RFC 3339 with the place's offset. */
            now: string;
            time_zone: string;
            /** @description Where the time zone was found. */
            time_zone_attribution: string;
            version: string;
        };
        MapThere: {
            /** @description Places that it answers for: west, south, east, north in degrees. */
            bbox: [
                number,
                number,
                number,
                number
            ];
            /** @description ISO 3166-1. */
            country?: string;
            licence: string;
            /** @description Of the extract, RFC 3339. */
            map_time?: string;
            name: string;
            time_zone: string;
        };
        MoveInfo: {
            /** Format: int64 */
            handled: number;
            /** @enum {string} */
            proposal: "stay" | "on" | "back";
            /** Format: int64 */
            refused_food: number;
            /** @description The proposal with what it rests on. */
            text: string;
            /** Format: int64 */
            triggers: number;
            /** Format: int64 */
            turned_back: number;
            /**
             * Format: int64
             * @description That were looked at.
             */
            visits: number;
            /**
             * Format: int64
             * @description In the last visit.
             */
            went_over: number;
        };
        NewKey: {
            info: components["schemas"]["KeptToken"];
            /** @description Shown once: only its hash is kept. */
            token: string;
        };
        NewPerson: {
            id: string;
        };
        NewShare: {
            info: components["schemas"]["KeptShare"];
            /** @description Shown now and never again. It opens GET /v1/shared and nothing else, as a bearer token. */
            key: string;
        };
        Offer: {
            /** Format: double */
            calm_chance: number;
            depart?: string;
            /** Format: double */
            minutes?: number;
            name?: string;
            /** @enum {string} */
            shape?: "calmest" | "loop" | "there_and_back" | "way" | "longest_calm";
            /** @enum {string} */
            what: "leave_at" | "start_at" | "shape" | "minutes" | "without_limit";
        };
        OutingBody: {
            /** @description People need not walk by the hours they are there. */
            any_loads?: boolean;
            dogs: components["schemas"]["OutingDog"][];
            /** @description Where every walk begins and ends. */
            gate: components["schemas"]["LatLon"];
            /** @description What holds if the day is hot: its highest temperature, as said in weather or as usual there, is 25 degrees or more. */
            heat?: components["schemas"]["HeatBody"];
            limits?: components["schemas"]["LimitsBody"];
            /**
             * Format: double
             * @description What a wished minute that is not granted weighs, in minutes of the dog's own best walk; left out: 3.
             */
            minute_price?: number;
            /**
             * Format: double
             * @description How long the outing may take, 15 to 720.
             * @example 180
             */
            minutes: number;
            /** @description Nobody needs a break; else who is there for two and a half hours has a quarter of an hour in the middle. */
            no_breaks?: boolean;
            people: components["schemas"]["OutingPerson"][];
            /**
             * Format: int64
             * @description The same seed gives the same timetable.
             */
            seed?: number;
            /**
             * @description holds: leave on the minute, wait at printed places (left out: this); printed: leave up to three minutes late, wait at printed places; free: never wait.
             * @enum {string}
             */
            slack?: "holds" | "printed" | "free";
            /**
             * @description First minute of the outing, RFC 3339 with its zone.
             * @example 2026-11-25T09:00:00-05:00
             */
            start: string;
            /** @description Names of dogs that may meet: one household, friends. */
            together?: [
                string,
                string
            ][];
            /**
             * Format: double
             * @description From one dog to the next of the same person, 5 to 60; left out: 10.
             */
            turn_minutes?: number;
            /**
             * @description What waiting indoors weighs: nothing, a tenth or a fifth of a mean walk a minute (assumed); left out: usual.
             * @enum {string}
             */
            waiting?: "none" | "usual" | "strong";
            /** @description As somebody says it is on the day; left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
            /**
             * Format: double
             * @description Radius round the gate that holds one dog at a time; left out: 60.
             */
            zone_m?: number;
        };
        OutingCheck: {
            /** @description Rules of the house that the timetable breaks. */
            breaches: components["schemas"]["Breach"][];
            /** @description The closest that each pair can be driven to, tightest first. */
            directed: components["schemas"]["Pinch"][];
            /** @description The timetable minute by minute, from the first dog out to the last one home. */
            frames?: components["schemas"]["OutingFrame"][];
            /** @description No rule was broken. */
            kept: boolean;
            /** @description Least separation of every pair at random, tightest first. */
            pairs: components["schemas"]["Pinch"][];
            /** Format: int64 */
            runs: number;
            verdict: string;
            /**
             * Format: double
             * @description Seconds with two dogs in the gate zone, in all runs.
             */
            zone_seconds: number;
        };
        OutingDay: {
            start: string;
            /** @description Without legs; left out where every dog rests or nobody comes. */
            timetable?: components["schemas"]["Timetable"];
        };
        OutingDog: {
            /**
             * @description For puppies and quarantine. ground: no street that another dog of the outing walks. last: such streets once the others are home. The way from the gate to the first junction is everybody's.
             * @enum {string}
             */
            apart?: "ground" | "last";
            /** @description Goes with experienced people only. */
            bite_history?: boolean;
            /** @description The dog with its name and distances; its pace is the outing's. */
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog; its cautions hold. */
            dog_id?: string;
            /**
             * @description Least that whoever walks it must have.
             * @enum {string}
             */
            experience?: "new" | "regular" | "experienced";
            /** @description RFC 3339: back by then at the latest; left out: the end of the outing. */
            finish_by?: string;
            /** @description Has to go out: its waiting weighs ten times. */
            first?: boolean;
            /**
             * Format: double
             * @description Wished, 5 to 90.
             * @example 30
             */
            minutes: number;
            /** @description What the timetable calls it, where two dogs have one name; left out: the dog's own. */
            name?: string;
            never_with?: string[];
            /** @description Names of people; left out: anybody. */
            only_with?: string[];
            /**
             * Format: int64
             * @description Who walk it at once; each of them must be one who may. Left out: 1.
             * @enum {integer}
             */
            people?: 1 | 2;
            /** @description Days of the week on which it is not walked. */
            rest?: ("mon" | "tue" | "wed" | "thu" | "fri" | "sat" | "sun")[];
            /** @description Of its kennel: dogs of one row go in and out a turnaround apart. */
            row?: string;
            /** @description The coordinator's word: it is walked although a bad day asks for rest. Of kept dogs only, from what was logged. */
            walks_after_bad_day?: boolean;
            /** @description Name of the dog that it is walked with, both by one person and calm with each other; the stricter distances hold for both. */
            with?: string;
        };
        OutingFrame: {
            /** @example 10:24 */
            clock: string;
            /** @description Dogs that are out, where they are if everybody is on time and walks at the usual pace. */
            dogs: components["schemas"]["OutingStand"][];
            /**
             * Format: int64
             * @description Of the outing.
             */
            minute: number;
            /** @description The pair with the least room to spare in this minute, of all replays and drives; left out where no two dogs are out. */
            tightest?: components["schemas"]["Pinch"];
        };
        OutingPaper: {
            /** @description Whose walks; left out: all, by start. */
            dogs?: string[];
            /** @description As it was asked for. */
            outing: components["schemas"]["OutingBody"];
            /**
             * @description Left out: A4.
             * @enum {string}
             */
            paper?: "a4" | "letter";
            timetable: components["schemas"]["Timetable"];
            /** @enum {string} */
            units?: "metric" | "us";
        };
        OutingPerson: {
            /** @enum {string} */
            experience?: "new" | "regular" | "experienced";
            /** @description RFC 3339; left out: the whole outing. */
            from?: string;
            /** @example Ada */
            name: string;
            /** @description Days of the week on which they do not come. */
            rest?: ("mon" | "tue" | "wed" | "thu" | "fri" | "sat" | "sun")[];
            /**
             * Format: double
             * @description And how long they were there.
             */
            there_minutes?: number;
            to?: string;
            /**
             * Format: double
             * @description Earlier in the week: loads are fair over all of it.
             */
            walked_minutes?: number;
        };
        OutingStand: {
            at: [
                number,
                number
            ];
            dog: string;
        };
        OutingWalksBody: {
            /** @description Whose walks; left out: all, by start. */
            dogs?: string[];
            /** @description As it was asked for. */
            outing: components["schemas"]["OutingBody"];
            timetable: components["schemas"]["Timetable"];
        };
        OutingWeek: {
            days: components["schemas"]["OutingDay"][];
            dogs: components["schemas"]["WeekDog"][];
            /**
             * Format: double
             * @description Jain's index of these by hours: 1 where all walk the same share of their time.
             */
            fairness: number;
            /** @description What everybody walks in all. */
            loads: components["schemas"]["WeekLoad"][];
        };
        OutingWeekBody: {
            /**
             * Format: int64
             * @description From the first day on.
             * @example 5
             */
            days: number;
            /** @description Of the first day; its hours of the clock hold on all. */
            outing: components["schemas"]["OutingBody"];
            /** @description Days of the week without an outing. */
            skip?: ("mon" | "tue" | "wed" | "thu" | "fri" | "sat" | "sun")[];
        };
        Passed: {
            /**
             * Format: double
             * @description Probability that somebody is there then.
             */
            active: number;
            /**
             * Format: double
             * @description Seconds into the walk.
             */
            at_s: number;
            in_sight: boolean;
            name: string;
            /** Format: double */
            nearest_m: number;
            /** @enum {string} */
            side: "left" | "right";
            /** @example dog_park */
            sort: string;
        };
        PersonBody: {
            /** @description Ids of the dogs that a handler is given. */
            dogs?: string[];
            name: string;
            /** @enum {string} */
            role: "handler" | "trainer" | "keeper";
        };
        PictureBody: {
            given?: components["schemas"]["Given"];
            /**
             * Format: double
             * @description CSS pixels; left out: 600.
             */
            height_px?: number;
            /**
             * @description With given: the same walks told as begun at another hour, RFC 3339.
             * @example 2026-11-25T23:10:00-05:00
             */
            leave?: string;
            /** @description Id of a kept plan. */
            plan?: string;
            /** @enum {string} */
            theme?: "light" | "dark" | "print";
            /** @enum {string} */
            units?: "metric" | "us";
            /**
             * Format: int64
             * @description Which walk of the plan, counted from 0.
             */
            walk?: number;
            /**
             * @description The map, or the walk unrolled; left out: the map.
             * @enum {string}
             */
            what?: "map" | "strip";
            /**
             * Format: double
             * @description How much more ground than the walk needs.
             */
            wider?: number;
            /**
             * Format: double
             * @description CSS pixels; left out: 800.
             */
            width_px?: number;
            wish?: components["schemas"]["WishBody"];
        };
        Pinch: {
            /** @description Clock. */
            at: string;
            dogs: [
                string,
                string
            ];
            /** Format: double */
            least_m: number;
            /** Format: double */
            need_m: number;
            place: [
                number,
                number
            ];
        };
        Place: {
            at: components["schemas"]["LatLon"];
            /** @example Weaver Row 12 */
            name: string;
        };
        PlacesBody: {
            /** @description Instead of a text: what is this place called? */
            at?: components["schemas"]["LatLon"];
            /** @description With a text: of places that fit as well the nearest to here come first. */
            near?: components["schemas"]["LatLon"];
            /**
             * @description Street, with its house number before or after, with a town or a postcode; a park, a school, a settlement, a postcode. Usual abbreviations, beginnings of words and wrong letters are understood.
             * @example 12 Weaver Row
             */
            text?: string;
        };
        Plan: {
            /** @description What was assumed, most important first. */
            assumed: string[];
            /** @example © OpenStreetMap contributors */
            attribution: string;
            caution: string;
            /**
             * @description Departure, RFC 3339 with the place's own offset.
             * @example 2026-11-25T07:10:00-05:00
             */
            depart: string;
            /** @description Time of the map extract, RFC 3339. */
            map_time?: string;
            /** @description What else to know: laps, a start inside a working distance. */
            notes: string[];
            /** @description The streets within 1,500 m of the start, compared for the dog at the hour of departure. */
            rank?: components["schemas"]["Rank"];
            /** @description Where the walk begins: longitude, latitude. */
            start: [
                number,
                number
            ];
            /**
             * Format: double
             * @description From the place asked for to the start, in metres.
             */
            start_distance_m: number;
            /**
             * @description IANA name of the place's time zone.
             * @example America/New_York
             */
            time_zone: string;
            /** @description Walks, best first. */
            walks: components["schemas"]["Walk"][];
        };
        PlanBody: {
            /** @description What was assumed, most important first. */
            assumed: string[];
            /** @example © OpenStreetMap contributors */
            attribution: string;
            caution: string;
            /**
             * @description Departure, RFC 3339 with the place's own offset.
             * @example 2026-11-25T07:10:00-05:00
             */
            depart: string;
            /** @description The plan's address: send it back to have these walks drawn, printed, proved or told again. */
            given?: components["schemas"]["Given"];
            /** @description Time of the map extract, RFC 3339. */
            map_time?: string;
            /** @description What else to know: laps, a start inside a working distance. */
            notes: string[];
            /** @description The streets within 1,500 m of the start, compared for the dog at the hour of departure. */
            rank?: components["schemas"]["Rank"];
            /** @description Where the walk begins: longitude, latitude. */
            start: [
                number,
                number
            ];
            /**
             * Format: double
             * @description From the place asked for to the start, in metres.
             */
            start_distance_m: number;
            /**
             * @description IANA name of the place's time zone.
             * @example America/New_York
             */
            time_zone: string;
            /** @description Walks, best first. */
            walks: components["schemas"]["Walk"][];
        };
        PlanKeptBody: {
            /** @description A plan as it was answered. */
            plan: unknown;
        };
        Problem: {
            /** @description The best that can be done instead. */
            best?: components["schemas"]["Walk"];
            /** @description What is wrong and how to mend it. */
            detail: string;
            /** @description Fields that are wrong, the first twenty: where, the value if it is short, the mend. */
            errors?: components["schemas"]["ErrorDetail"][];
            /**
             * Format: int64
             * @description How many are wrong, where errors does not list all.
             */
            faults?: number;
            /** @description The request's id, for asking about it. */
            instance?: string;
            /** @description The limit that forbids. */
            limit?: string;
            /** @description What would help, most useful first. */
            offers?: components["schemas"]["Offer"][];
            /** @description The search was exhausted: there is none in the model. */
            proved?: boolean;
            /**
             * @description Why there is no walk.
             * @enum {string}
             */
            reason?: "no_street_near" | "not_connected" | "too_short" | "no_loop" | "limits_forbid" | "map_too_small" | "off_the_map" | "nothing_in_range" | "no_stand" | "no_way_in" | "nobody_then";
            /**
             * Format: double
             * @description By how much it fails.
             */
            short?: number;
            /** Format: int64 */
            status: number;
            title: string;
            /**
             * @description What sort of problem; never renamed.
             * @example urn:wideberth:no-walk
             */
            type: string;
            /** @enum {string} */
            unit?: "m" | "s";
        };
        Profile: {
            /** @description The room is a default, not measured. */
            assumed_left: boolean[];
            assumed_right: boolean[];
            /** @description Usable room on the left, smoothed, at most the room needed. */
            left_m: number[];
            right_m: number[];
            sight_m: number[];
            /** @description Of the ground among that about the start: 1 calm for here to 4 hardest here. */
            step: number[];
            /** Format: double */
            step_m: number;
        };
        ProgressBody: {
            /** @description When to move on; left out: common practice. */
            rule?: components["schemas"]["KeptTrainingRule"];
            visits: components["schemas"]["VisitLog"][];
        };
        ProposalInfo: {
            /** @description What is believed now, from the first meeting on. */
            belief?: components["schemas"]["Belief"];
            /**
             * @description too_few: nothing is claimed.
             * @enum {string}
             */
            change: "keep" | "nearer" | "farther" | "too_few";
            evidence?: components["schemas"]["KeptEvidence"];
            /** Format: double */
            from_reaction_m: number;
            /** Format: double */
            from_working_m: number;
            /**
             * Format: double
             * @description Of too_few: the effective number of encounters there are.
             */
            have?: number;
            /**
             * @description Kind or category.
             * @example dog_on_lead
             */
            name: string;
            /**
             * Format: double
             * @description And that are needed.
             */
            need?: number;
            /** @description Nearer would be proposed, but the dog snapped or bit: not before a trainer lifts its flag. */
            stopped?: boolean;
            /** @description Belief and proposal in words. */
            text?: string;
            /** Format: double */
            to_reaction_m: number;
            /** Format: double */
            to_working_m: number;
        };
        Quality: {
            /** @description What the proof is about, in words: which walks, which sum, and which walks are left out. */
            covers?: string;
            /** @description No better walk exists in the model searched. */
            proved: boolean;
            /**
             * Format: double
             * @description The figure that the search made small: expected reactions, strain as the wish weighs it, and what turning about and ground walked twice add; 0 where it is not known.
             */
            sum: number;
            /**
             * Format: double
             * @description A better one could save at most this much of the sum; -1 while nothing is proved.
             */
            within_percent: number;
        };
        Rank: {
            /**
             * @description To one reaction, from which on ground is of step 1, 2 and 3; less than the last is step 4.
             * @example [
             *       32,
             *       22,
             *       16
             *     ]
             */
            minutes: [
                number,
                number,
                number
            ];
            /** @description Of the metres compared, by step. */
            share: [
                number,
                number,
                number,
                number
            ];
        };
        RankedStreets: {
            attribution: string;
            features: components["schemas"]["Feature"][];
            rank: components["schemas"]["Rank"];
            /** @description Every feature is in one. */
            runs: components["schemas"]["StreetRun"][];
            /** @description The box holds more ways than are given at once. */
            truncated: boolean;
            /** @enum {string} */
            type: "FeatureCollection";
        };
        ReachBody: {
            /** @description RFC 3339 with its zone; left out: now. */
            depart?: string;
            dog?: components["schemas"]["DogFile"];
            /** @description The ways within 1,500 m of it are compared. */
            from: components["schemas"]["LatLon"];
            /** @description As somebody says it is; left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        Respite: {
            /** @description Like 2026-11-26. */
            day: string;
            /** @description A day of rest; else far steps only. */
            rest: boolean;
            /** @description Why. */
            text: string;
        };
        RevisitBody: {
            /** @example 2026-11-26T17:20:00-05:00 */
            arrive: string;
            /** @description Where one stands. */
            at?: components["schemas"]["LatLon"];
            /** @description Where the walk begins, as an answer had it; left out for the door. */
            car?: components["schemas"]["LatLon"];
            /** @description The ways, as the visit was answered: they are told for the hour, without a search. Left out: those of the kept visit where it is drawn or printed for its own hour, else the calmest of the hour are looked for. */
            given?: components["schemas"]["GivenVisit"];
            /** @description A kept sequence, with visit, in place of wish, at and watched. */
            sequence?: string;
            /**
             * Format: double
             * @description Of a kept visit left out: as it was.
             * @example 8
             */
            stay_minutes?: number;
            /**
             * Format: int64
             * @description Number of its visit, from 1.
             */
            visit?: number;
            /**
             * @description The osm of what is watched; left out for ways.
             * @example way/123
             */
            watched?: string;
            wish?: components["schemas"]["VisitsBody"];
        };
        Sequence: {
            /** @description Which options are next harder than which: the order of all that is shown, less what follows from the rest. */
            arcs: [
                number,
                number
            ][];
            assumed: string[];
            /** @example © OpenStreetMap contributors */
            attribution: string;
            cautions: string[];
            /** @description Leads from the farthest to the nearest distance asked for. */
            complete: boolean;
            /**
             * Format: int64
             * @description Places, hours and stays that were found.
             */
            considered: number;
            /** @description The ground asked for is too large for one search: what lies farther from the start was not looked at. */
            cut_short?: boolean;
            kinds: string[];
            /** @description What cannot be had, why, and what comes nearest. */
            lacks: components["schemas"]["Lack"][];
            map_time?: string;
            /** @description The visits' own, in their order, then the alternatives. */
            options: components["schemas"]["Stay"][];
            /**
             * @description What every step keeps: harder in one respect only; easier in none; nearer, and then perhaps easier in others.
             * @enum {string}
             */
            order?: "one_harder" | "never_easier" | "nearer_eases";
            /** @description Days asked for on which the dog rests, or keeps far, after a bad one. */
            respites?: components["schemas"]["Respite"][];
            time_zone: string;
            /** @description From the farthest to the nearest. */
            visits: components["schemas"]["Visit"][];
        };
        SequenceProgress: {
            caution: string;
            /** @description All that were logged, oldest first. */
            done: components["schemas"]["VisitDone"][];
            /** Format: int64 */
            handled: number;
            /** Format: int64 */
            of: number;
            paused: boolean;
            /** @enum {string} */
            proposal: "stay" | "on" | "back";
            /** Format: int64 */
            refused_food: number;
            rule: components["schemas"]["KeptTrainingRule"];
            /** @enum {string} */
            rule_from: "sequence" | "account" | "default";
            /**
             * Format: int64
             * @description The visit that is next, from 1.
             */
            step: number;
            /** @description The proposal with what it rests on. */
            text: string;
            /**
             * Format: int64
             * @description The visit that is proposed; step where it is to stay.
             */
            to: number;
            /** Format: int64 */
            triggers: number;
            /** Format: int64 */
            turned_back: number;
            /**
             * Format: int64
             * @description That were looked at.
             */
            visits: number;
            /**
             * Format: int64
             * @description In the last visit.
             */
            went_over: number;
        };
        Setup: {
            /** @description Both ways in keep away from each other, whoever is late. */
            apart: boolean;
            /** @description Where the dog's car is left. */
            car: components["schemas"]["LatLon"];
            dog: components["schemas"]["SetupEntry"][];
            /** @description From the car to the first line. */
            dog_in: components["schemas"]["LineString"];
            /** Format: double */
            drive_minutes: number;
            /** @description What that comes from, most first. */
            else: components["schemas"]["SetupElse"][];
            /**
             * Format: int64
             * @description Of three directions in which the dog can be led away.
             */
            exits: number;
            /** @description What is known of the ground. */
            ground: string;
            helper: components["schemas"]["SetupEntry"][];
            helper_in: components["schemas"]["LineString"];
            helper_line: components["schemas"]["LineString"];
            /**
             * Format: double
             * @description Between the ways of the two, in whatever minute they walk.
             */
            least_m: number;
            /** @description The dog's, farthest first. */
            lines: components["schemas"]["SetupLine"][];
            /**
             * Format: double
             * @description Expected reactions to everything else in 25 minutes at the nearest line.
             */
            other_reactions: number;
            phases: components["schemas"]["SetupPhase"][];
            /** @description What the ground or its car park is called, or the nearest street. */
            place?: string;
            /** @description All lines lie in parks or on pitches; what is allowed there the map does not say. */
            public: boolean;
            /** @description Of the best one: both timetables walked late, slow and fast by code that shares nothing with what laid them out. */
            replay?: components["schemas"]["SetupReplay"];
            /** @description Out of the helper's sight, near the first line; left out: the car. */
            screen?: [
                number,
                number
            ];
        };
        SetupBody: {
            /**
             * @description When both stand on the first line, RFC 3339; left out: in an hour.
             * @example 2026-11-28T08:30:00Z
             */
            at?: string;
            /** @description A trainer must set steps nearer than 1.5 times the working distance. */
            bite_history?: boolean;
            /** @description Only the set-up that begins where this car is left, as an answer had it. */
            car?: components["schemas"]["LatLon"];
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog; its cautions hold. */
            dog_id?: string;
            /**
             * Format: double
             * @description How far to drive; left out: 15.
             */
            drive_minutes?: number;
            /** @description Where the drive begins: the door. */
            from: components["schemas"]["LatLon"];
            /**
             * @description Parks and pitches only, or grass as well of which the map does not tell whose it is; left out: parks.
             * @enum {string}
             */
            ground?: "parks" | "green";
            helper?: components["schemas"]["HelperBody"];
            /**
             * Format: double
             * @description Length of the lines; left out: 40.
             */
            line_m?: number;
            /**
             * Format: double
             * @description To everything else, in 25 minutes at the nearest line; left out: 0.2.
             */
            max_expected_reactions?: number;
            /** @description What is done on each line: stand, side_by_side, passing (on the last two lines), approach; left out: the first three. */
            modes?: [
            ] | [
                string
            ] | [
                string,
                string
            ] | [
                string,
                string,
                string
            ] | [
                string,
                string,
                string,
                string
            ];
            /** @description The dog's lines in multiples of its working distance, each nearer than the one before; left out: 2, 1.5, 1.25, 1. */
            steps?: [
            ] | [
                number
            ] | [
                number,
                number
            ] | [
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number,
                number,
                number
            ];
            /** @description Ground not to be used. */
            struck?: components["schemas"]["Circle"][];
            /** @description Ground with one way in for both, too: only the clock keeps them apart there. */
            together?: boolean;
            /**
             * @description Of the texts, pictures and sheets.
             * @enum {string}
             */
            units?: "metric" | "us";
        };
        SetupElse: {
            /** Format: double */
            distance_m: number;
            kind: string;
            /** Format: double */
            reactions: number;
            source?: string;
        };
        SetupEntry: {
            not_before: string;
            text: string;
        };
        SetupLine: {
            /**
             * Format: double
             * @description Nobody is nearer on it; it lies 4 m farther off.
             */
            distance_m: number;
            line: components["schemas"]["LineString"];
            /** Format: double */
            multiple: number;
        };
        SetupList: {
            assumed: string[];
            /** @description When both stand on the first line. */
            at: string;
            /** @example © OpenStreetMap contributors */
            attribution: string;
            cautions: string[];
            /**
             * Format: int64
             * @description Places for a car with open ground within the drive.
             */
            in_reach: number;
            /** @description Why there is none. */
            lack?: string;
            /**
             * Format: int64
             * @description That have room for the lines and a way in for each.
             */
            laid: number;
            /** Format: int64 */
            looked_at: number;
            /** @description Who is muzzle-trained and who is not, where one of the two has bitten. */
            muzzles?: string[];
            /**
             * Format: int64
             * @description Of them where little enough else comes near.
             */
            quiet: number;
            /** @description Best first, each on ground of its own. */
            setups: components["schemas"]["Setup"][];
            /** @description What a trainer said in writing, where the meeting rests on it. */
            word?: components["schemas"]["TrainerWord"];
            /**
             * Format: double
             * @description The dog's working distance, for this helper.
             */
            working_m: number;
        };
        SetupPhase: {
            /**
             * Format: double
             * @description That holds meanwhile.
             */
            distance_m: number;
            from: string;
            /**
             * Format: int64
             * @description From 1.
             */
            line: number;
            /** @enum {string} */
            mode: "stand" | "side_by_side" | "passing" | "approach";
            to: string;
        };
        SetupPictureBody: {
            /**
             * @description When both stand on the first line, RFC 3339; left out: in an hour.
             * @example 2026-11-28T08:30:00Z
             */
            at?: string;
            /** @description A trainer must set steps nearer than 1.5 times the working distance. */
            bite_history?: boolean;
            /** @description Only the set-up that begins where this car is left, as an answer had it. */
            car?: components["schemas"]["LatLon"];
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog; its cautions hold. */
            dog_id?: string;
            /**
             * Format: double
             * @description How far to drive; left out: 15.
             */
            drive_minutes?: number;
            /** @description Where the drive begins: the door. */
            from: components["schemas"]["LatLon"];
            /**
             * @description Parks and pitches only, or grass as well of which the map does not tell whose it is; left out: parks.
             * @enum {string}
             */
            ground?: "parks" | "green";
            /** Format: double */
            height_px?: number;
            helper?: components["schemas"]["HelperBody"];
            /**
             * Format: double
             * @description Length of the lines; left out: 40.
             */
            line_m?: number;
            /**
             * Format: double
             * @description To everything else, in 25 minutes at the nearest line; left out: 0.2.
             */
            max_expected_reactions?: number;
            /** @description What is done on each line: stand, side_by_side, passing (on the last two lines), approach; left out: the first three. */
            modes?: [
            ] | [
                string
            ] | [
                string,
                string
            ] | [
                string,
                string,
                string
            ] | [
                string,
                string,
                string,
                string
            ];
            /**
             * @description Whose lines are thick; left out: both.
             * @enum {string}
             */
            role?: "dog" | "helper";
            /** @description The dog's lines in multiples of its working distance, each nearer than the one before; left out: 2, 1.5, 1.25, 1. */
            steps?: [
            ] | [
                number
            ] | [
                number,
                number
            ] | [
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number,
                number,
                number
            ];
            /** @description Ground not to be used. */
            struck?: components["schemas"]["Circle"][];
            /** @enum {string} */
            theme?: "light" | "dark" | "print";
            /** @description Ground with one way in for both, too: only the clock keeps them apart there. */
            together?: boolean;
            /**
             * @description Of the texts, pictures and sheets.
             * @enum {string}
             */
            units?: "metric" | "us";
            /** Format: double */
            width_px?: number;
        };
        SetupReplay: {
            /** Format: double */
            least_m: number;
            /**
             * Format: double
             * @description Over the distance that held in that minute.
             */
            least_margin_m: number;
            /** Format: int64 */
            runs: number;
            text: string;
            /**
             * Format: double
             * @description The nearest when nobody heeds a clock.
             */
            without_clock_m: number;
        };
        SetupSheetBody: {
            /**
             * @description When both stand on the first line, RFC 3339; left out: in an hour.
             * @example 2026-11-28T08:30:00Z
             */
            at?: string;
            /** @description A trainer must set steps nearer than 1.5 times the working distance. */
            bite_history?: boolean;
            /** @description Only the set-up that begins where this car is left, as an answer had it. */
            car?: components["schemas"]["LatLon"];
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog; its cautions hold. */
            dog_id?: string;
            /**
             * Format: double
             * @description How far to drive; left out: 15.
             */
            drive_minutes?: number;
            /** @description Where the drive begins: the door. */
            from: components["schemas"]["LatLon"];
            /**
             * @description Parks and pitches only, or grass as well of which the map does not tell whose it is; left out: parks.
             * @enum {string}
             */
            ground?: "parks" | "green";
            helper?: components["schemas"]["HelperBody"];
            /**
             * Format: double
             * @description Length of the lines; left out: 40.
             */
            line_m?: number;
            /**
             * Format: double
             * @description To everything else, in 25 minutes at the nearest line; left out: 0.2.
             */
            max_expected_reactions?: number;
            /** @description What is done on each line: stand, side_by_side, passing (on the last two lines), approach; left out: the first three. */
            modes?: [
            ] | [
                string
            ] | [
                string,
                string
            ] | [
                string,
                string,
                string
            ] | [
                string,
                string,
                string,
                string
            ];
            /**
             * @description Left out: A4.
             * @enum {string}
             */
            paper?: "a4" | "letter";
            /**
             * @description Whose sheet; left out: both.
             * @enum {string}
             */
            role?: "dog" | "helper";
            /** @description The dog's lines in multiples of its working distance, each nearer than the one before; left out: 2, 1.5, 1.25, 1. */
            steps?: [
            ] | [
                number
            ] | [
                number,
                number
            ] | [
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number,
                number
            ] | [
                number,
                number,
                number,
                number,
                number,
                number
            ];
            /** @description Ground not to be used. */
            struck?: components["schemas"]["Circle"][];
            /** @description Ground with one way in for both, too: only the clock keeps them apart there. */
            together?: boolean;
            /**
             * @description Of the texts, pictures and sheets.
             * @enum {string}
             */
            units?: "metric" | "us";
        };
        SharedDog: {
            distances: {
                [key: string]: components["schemas"]["KeptDistance"];
            };
            flag?: components["schemas"]["KeptFlag"];
            note: components["schemas"]["AdopterNote"];
            profile: components["schemas"]["KeptProfile"];
            /** @description Training visits of this dog alone; with a helper that is another kept dog they are left out. */
            sequences: components["schemas"]["SharedSequence"][];
            /**
             * Format: date-time
             * @description The key ends then.
             */
            until: string;
        };
        SharedSequence: {
            id: string;
            paused: boolean;
            /** @description As POST /v1/visits answered it. */
            sequence: unknown;
            /**
             * Format: int64
             * @description The visit that is next, from 1.
             */
            step: number;
            /** Format: date-time */
            updated: string;
        };
        Shortage: {
            blocked: components["schemas"]["Blocked"][];
            /** @enum {string} */
            cause: "ground" | "people" | "gate" | "rules" | "pairs";
            /** @description Tried, and every dog is served. */
            helps: components["schemas"]["Help"][];
            text: string;
        };
        Shown: {
            given?: components["schemas"]["Given"];
            /**
             * @description With given: the same walks told as begun at another hour, RFC 3339.
             * @example 2026-11-25T23:10:00-05:00
             */
            leave?: string;
            /** @description Id of a kept plan. */
            plan?: string;
            wish?: components["schemas"]["WishBody"];
        };
        SideInfo: {
            /** Format: double */
            aside_m?: number;
            /**
             * Format: double
             * @description How far off it is then.
             */
            ends_m: number;
            /** @enum {string} */
            first: "ahead" | "back" | "left" | "right" | "aside_left" | "aside_right" | "stay";
            hidden: boolean;
            /** Format: double */
            length_m: number;
            /**
             * Format: double
             * @description At a brisk pace, until the working distance is reached or it is out of sight; -1 where neither is in reach.
             */
            seconds: number;
            /**
             * @description Next turn, seen as one walks then.
             * @enum {string}
             */
            then?: "ahead" | "back" | "left" | "right";
            /** Format: double */
            then_m?: number;
            /** @description Ends out of sight or where the dog still works. */
            works: boolean;
        };
        Sieve: {
            /**
             * Format: int64
             * @description Of them where somebody is likely there then.
             */
            active: number;
            /**
             * Format: int64
             * @description Where enough shows and nothing else is too near.
             */
            apart: number;
            /**
             * Format: int64
             * @description Places at the distance.
             */
            in_band: number;
            /** Format: int64 */
            in_sight: number;
            nearest?: string;
            /** Format: double */
            nearest_m?: number;
            /**
             * Format: int64
             * @description With the kinds, in reach.
             */
            sources: number;
            /**
             * Format: int64
             * @description Where one may stand.
             */
            standable: number;
            /** Format: int64 */
            with_ways_out: number;
        };
        SourceInfo: {
            /**
             * Format: double
             * @description Probability that a trigger the dog reacts to is there then.
             */
            active: number;
            /** @description How many are there is a default. */
            assumed: boolean;
            at: [
                number,
                number
            ];
            /** @description opening_hours as tagged. */
            hours?: string;
            /** Format: int32 */
            id: number;
            kinds: string[];
            name: string;
            /** @description Where the map has it, or the report. */
            osm: string;
            outline?: [
                number,
                number
            ][][];
            /** @example dog_park */
            sort: string;
            /** @example dog park */
            what: string;
            /**
             * Format: double
             * @description The dog's working distance for what is there.
             */
            working_m: number;
        };
        Sources: {
            attribution: string;
            sources: components["schemas"]["SourceInfo"][];
            /** @description The box holds more sources than are given at once. */
            truncated: boolean;
        };
        Stay: {
            /**
             * Format: double
             * @description Of these besides what is watched.
             */
            about_besides: number;
            /**
             * Format: double
             * @description Of the whole visit, before its ways were planned.
             */
            about_reactions: number;
            /** @example 2026-11-26T17:20:00-05:00 */
            arrive: string;
            /** @description Where to stand: longitude, latitude. */
            at: [
                number,
                number
            ];
            /** @description Where the car is left; left out where one walks from the door. */
            car?: components["schemas"]["VisitCar"];
            /**
             * Format: double
             * @description That at least one shows in the stay.
             */
            chance: number;
            class: components["schemas"]["StepClass"];
            /**
             * Format: double
             * @description To the nearest point of what is watched.
             */
            distance_m: number;
            /**
             * @description Ways out: A two that share no edge and keep nine tenths of the distance; B two that keep three quarters, one and open ground, or that over 60 degrees; C one and 20 m of room, or open ground; D one.
             * @enum {string}
             */
            grade: "A" | "B" | "C" | "D";
            /**
             * Format: double
             * @description Upper end of the 80 % interval of that number.
             */
            high: number;
            /** @description One of the places that were to be kept. */
            kept?: boolean;
            /**
             * Format: double
             * @description to.
             */
            lasts_high_s: number;
            /**
             * Format: double
             * @description Seconds that one lasts, from
             */
            lasts_low_s: number;
            /**
             * Format: double
             * @description Lower end of the 80 % interval of that number.
             */
            low: number;
            /**
             * Format: double
             * @description That over the working distance.
             */
            multiple: number;
            /**
             * Format: double
             * @description Triggers expected in the stay, groups once.
             */
            number: number;
            /**
             * Format: double
             * @description Of it over open ground from the nearest way; left out on a way.
             */
            off_way_m?: number;
            /**
             * Format: double
             * @description Expected reactions to everything else during the stay.
             */
            other_reactions: number;
            pinned: boolean;
            /** @description Room is a default of the street's class, not measured. */
            room_default: boolean;
            /**
             * Format: double
             * @description Room beside the way, away from it.
             */
            room_m: number;
            /** @description Nearest point of it that is in sight. */
            sees: [
                number,
                number
            ];
            /**
             * Format: double
             * @description Share of its outline that is in sight.
             */
            sight_share: number;
            /** Format: double */
            stay_minutes: number;
            street: string;
            /**
             * Format: int64
             * @description for the most and longest, one every two.
             */
            treats_high: number;
            /**
             * Format: int64
             * @description Pieces of food for the fewest and shortest triggers that may come, at least one of them, one piece every four seconds;
             */
            treats_low: number;
            /**
             * Format: double
             * @description From the door, or from the car.
             */
            walk_m: number;
            watched: components["schemas"]["Watched"];
            /**
             * Format: double
             * @description Expected reactions to what is watched.
             */
            watched_reactions: number;
            /** @description By which street each way out goes the farthest: by Kiln Lane. */
            way_out_names: string[];
            ways_out: components["schemas"]["LineString"][];
        };
        StepClass: {
            /**
             * Format: int64
             * @description Half octaves of the number of triggers; more is harder.
             */
            busy: number;
            /**
             * Format: int64
             * @description Longer is harder.
             */
            duration: number;
            /**
             * Format: int64
             * @description Eighths of the working distance; less is harder.
             */
            near: number;
            /**
             * Format: int64
             * @description Tens of metres, at most three; less is harder.
             */
            room: number;
        };
        StepLine: {
            line: [
                number,
                number
            ][];
            /**
             * Format: int64
             * @enum {integer}
             */
            step: 1 | 2 | 3 | 4;
        };
        StreetRun: {
            /** @description Features by their place in the list, counted from 1, in order; negative where the run goes against the geometry. */
            edges: number[];
            /**
             * Format: int64
             * @enum {integer}
             */
            step: 1 | 2 | 3 | 4;
            /** @enum {string} */
            way: "street" | "path" | "crossing" | "drive" | "service";
        };
        StretchOut: {
            ahead: components["schemas"]["SideInfo"];
            /** @description What helps besides; sides as one walks. */
            aid: components["schemas"]["AidInfo"];
            /**
             * Format: double
             * @description Where the stretch begins, along the walk.
             */
            at_m: number;
            behind: components["schemas"]["SideInfo"];
            left: components["schemas"]["SideInfo"];
            right: components["schemas"]["SideInfo"];
        };
        StripSource: {
            /** Format: double */
            far_m: number;
            /** Format: double */
            from_m: number;
            name: string;
            /** Format: double */
            near_m: number;
            /** Format: double */
            reaction_m: number;
            right: boolean;
            /** Format: double */
            to_m: number;
            /** Format: double */
            working_m: number;
        };
        TermInfo: {
            /**
             * Format: double
             * @description At a source: probability that somebody is there.
             */
            active: number;
            /**
             * Format: double
             * @description Closest approach; for a sound, the distance at which it would be as loud without buildings between.
             */
            distance_m: number;
            /**
             * Format: double
             * @description Gamma shape of the doubt about the rate: smaller is less sure.
             */
            doubt_shape: number;
            /** @enum {string} */
            evidence: "map_flows" | "few_places" | "map_source" | "report" | "map_border" | "counted" | "assumed";
            in_sight: boolean;
            kind: string;
            /**
             * Format: double
             * @description That one encounter goes over threshold.
             */
            p: number;
            /**
             * Format: double
             * @description Encounters, or fresh chances at a source that stays, in an hour of walking there.
             */
            per_hour: number;
            /** Format: double */
            reactions_per_hour: number;
            /**
             * Format: double
             * @description Of the hazard of this ground.
             */
            share: number;
            /**
             * @description The source, or the stream.
             * @example dog walks on the way itself
             */
            what: string;
        };
        TimeRow: {
            /**
             * Format: double
             * @description The least that a minute would cost this dog with nobody else out.
             */
            alone_reactions_per_minute: number;
            /** @enum {string} */
            apart?: "ground" | "last";
            /** @description At the slowest pace. */
            back_by: string;
            bite_history: boolean;
            changed: boolean;
            dog: string;
            /** Format: double */
            expected_reactions: number;
            geometry: components["schemas"]["LineString"];
            /** Format: double */
            granted_minutes: number;
            /** @description Quiet places not to be left before the printed time. */
            holds: components["schemas"]["Hold"][];
            /** @description When to pass the gate. */
            leave: string;
            /** @description When to be at the gate. */
            meet: string;
            /**
             * Format: double
             * @description Working distance to other dogs.
             */
            need_m: number;
            /** @description Going out: dogs of its row that are in their kennels. */
            passes?: string[];
            person: string;
            /** @description Usual walking time to each point, seconds. */
            progress_s: number[];
            /** @description Of its kennel. */
            row?: string;
            /** @description Goes with them, where two people walk the dog. */
            second?: string;
            /**
             * Format: int64
             * @description Minute of the outing at which it passes the gate.
             */
            start_minute: number;
            /** @description On the day: begun, cannot be changed. */
            under_way: boolean;
            /** @description Leg by leg; may be left out when it is sent back. */
            walk?: components["schemas"]["Walk"];
            /** Format: double */
            wished_minutes: number;
            /** @description The dog that is walked with it by the same person. */
            with?: string;
        };
        Timetable: {
            /**
             * Format: double
             * @description The same dogs, each with nobody else out, at its best hour of the outing.
             */
            alone_reactions_per_minute: number;
            assumed: string[];
            /** @example © OpenStreetMap contributors */
            attribution: string;
            caution: string;
            /** @description On the day: dogs whose walk is another than before. */
            changed: string[];
            /**
             * Format: double
             * @description Of all walks together.
             */
            expected_reactions: number;
            /**
             * Format: double
             * @description Jain's index of loads by hours: 1 where all walk the same share of their time.
             */
            fairness?: number;
            /** @description What the gate lets through, known before any search. */
            gate: components["schemas"]["GateCount"];
            /** @description Longitude, latitude. */
            gate_position: [
                number,
                number
            ];
            /**
             * Format: double
             * @description And granted: never more than wished for any dog.
             */
            granted_minutes: number;
            /** @description What holds as the day is hot. */
            hot?: components["schemas"]["HeatBody"];
            /** @description Why the first walk does not begin with the outing; left out if it does, and on the day. */
            lead?: components["schemas"]["Lead"];
            /** @description What everybody walks. */
            loads?: components["schemas"]["Load"][];
            map_time?: string;
            /**
             * Format: double
             * @description How long the outing may take.
             */
            minutes: number;
            /**
             * Format: int64
             * @description Dogs out at one time.
             */
            most_at_once: number;
            /** @description How near two dogs can come inside the slack, tightest first. */
            pinches: components["schemas"]["Pinch"][];
            /**
             * Format: double
             * @description Expected reactions for each minute walked at the usual pace.
             */
            reactions_per_minute: number;
            /** @description What bad days of kept dogs ask for on this one, from what was logged. */
            respites?: components["schemas"]["DogRespite"][];
            /** @description Dogs whose day off it is, or that rest after a bad one. */
            resting?: string[];
            /** @description Walks by start. */
            rows: components["schemas"]["TimeRow"][];
            /** @description What handlers must do for the separation to hold. */
            rules: string;
            shortage?: components["schemas"]["Shortage"];
            /** @enum {string} */
            slack: "holds" | "printed" | "free";
            /**
             * @description First minute of the outing, RFC 3339.
             * @example 2026-11-25T09:00:00-05:00
             */
            start: string;
            /**
             * Format: double
             * @description From the gate: ground that is everybody's.
             */
            stem_m?: number;
            /** @example America/New_York */
            time_zone: string;
            /** @description Dogs that may meet. */
            together: [
                string,
                string
            ][];
            /**
             * Format: double
             * @description From one dog to the next of the same person.
             */
            turn_minutes?: number;
            /** @description On the day: pairs already out that may come too near; tell both. */
            unavoidable: components["schemas"]["Pinch"][];
            /** @description Dogs left in. */
            unserved: string[];
            /**
             * Format: double
             * @description Of all dogs together.
             */
            wished_minutes: number;
            /**
             * Format: double
             * @description Radius round the gate that holds one dog at a time.
             */
            zone_m: number;
        };
        TrackInfo: {
            /**
             * Format: date-time
             * @description Time of the first point that has one.
             */
            begins?: string;
            /** Format: date-time */
            ends?: string;
            /** @description False where the account keeps tracks for fewer days than the walk is old. */
            kept: boolean;
            /**
             * Format: int64
             * @description Track points in the file.
             */
            points: number;
        };
        TrafficInfo: {
            main_road: boolean;
            /** @enum {string} */
            pavement: "separate" | "unknown" | "none";
            /**
             * Format: double
             * @description Of the edge's length.
             */
            share: number;
            /** Format: double */
            speed_kmh: number;
            /** Format: double */
            strain_in_ten_minutes: number;
            /** Format: double */
            vehicles_per_hour: number;
        };
        TrainerWord: {
            at: string;
            /** @example Robin */
            by: string;
            id: string;
            /** @description As the sheets print it, with who said it and when. */
            text: string;
        };
        Vantage: {
            /** @description Where to stand: longitude, latitude. */
            at: [
                number,
                number
            ];
            /**
             * Format: double
             * @description That at least one shows in the stay.
             */
            chance: number;
            /**
             * Format: double
             * @description To the nearest point of what is watched.
             */
            distance_m: number;
            /**
             * @description Ways out: A two that share no edge and keep nine tenths of the distance; B two that keep three quarters, one and open ground, or that over 60 degrees; C one and 20 m of room, or open ground; D one.
             * @enum {string}
             */
            grade: "A" | "B" | "C" | "D";
            /**
             * Format: double
             * @description Upper end of the 80 % interval of that number.
             */
            high: number;
            /**
             * Format: double
             * @description to.
             */
            lasts_high_s: number;
            /**
             * Format: double
             * @description Seconds that one lasts, from
             */
            lasts_low_s: number;
            /**
             * Format: double
             * @description Lower end of the 80 % interval of that number.
             */
            low: number;
            /**
             * Format: double
             * @description That over the working distance.
             */
            multiple: number;
            /**
             * Format: double
             * @description Triggers expected in the stay, groups once.
             */
            number: number;
            /**
             * Format: double
             * @description Of it over open ground from the nearest way; left out on a way.
             */
            off_way_m?: number;
            /**
             * Format: double
             * @description Expected reactions to everything else during the stay.
             */
            other_reactions: number;
            /** @description Room is a default of the street's class, not measured. */
            room_default: boolean;
            /**
             * Format: double
             * @description Room beside the way, away from it.
             */
            room_m: number;
            /** @description Nearest point of it that is in sight. */
            sees: [
                number,
                number
            ];
            /**
             * Format: double
             * @description Share of its outline that is in sight.
             */
            sight_share: number;
            street: string;
            /**
             * Format: int64
             * @description for the most and longest, one every two.
             */
            treats_high: number;
            /**
             * Format: int64
             * @description Pieces of food for the fewest and shortest triggers that may come, at least one of them, one piece every four seconds;
             */
            treats_low: number;
            /**
             * Format: double
             * @description From the door, or from the car.
             */
            walk_m: number;
            watched: components["schemas"]["Watched"];
            /**
             * Format: double
             * @description Expected reactions to what is watched.
             */
            watched_reactions: number;
            /** @description By which street each way out goes the farthest: by Kiln Lane. */
            way_out_names: string[];
            ways_out: components["schemas"]["LineString"][];
        };
        VantageBody: {
            /**
             * @description RFC 3339; left out: now.
             * @example 2026-11-25T17:20:00-05:00
             */
            at?: string;
            /** @description A trainer must set steps nearer than 1.5 times the working distance. */
            bite_history?: boolean;
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog; its cautions hold. */
            dog_id?: string;
            /** @description The door. */
            from: components["schemas"]["LatLon"];
            /**
             * @description What is to be watched: a kind or a category.
             * @example dogs
             */
            kind: string;
            /**
             * @description Of the ways out; left out: D from 1.5 times the working distance, B below.
             * @enum {string}
             */
            least_grade?: "A" | "B" | "C" | "D";
            /**
             * Format: double
             * @description Distance wished, in multiples of the working distance, 0.5 to 3.
             * @example 1.5
             */
            multiple: number;
            /**
             * Format: double
             * @description How far to walk there from the door; left out: 2,500.
             */
            reach_m?: number;
            /**
             * Format: double
             * @description Left out: eight.
             */
            stay_minutes?: number;
            /** @description As somebody says it is on the day; left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        VantageList: {
            attribution: string;
            caution: string;
            /** @description The ground asked for is too large for one search: what lies farther from the start was not looked at. */
            cut_short?: boolean;
            /** @description Best grade first, then calmest. */
            places: components["schemas"]["Vantage"][];
            /** @description What was left over at each sieve: the numbers to say why there is none. */
            sieve: components["schemas"]["Sieve"];
        };
        Visit: {
            /**
             * Format: double
             * @description Of these besides what is watched.
             */
            about_besides: number;
            /**
             * Format: double
             * @description Of the whole visit, before its ways were planned.
             */
            about_reactions: number;
            /** @description Indices of options of about its hardness. */
            alternatives: number[];
            /** @example 2026-11-26T17:20:00-05:00 */
            arrive: string;
            /**
             * Format: double
             * @description Of these beside the car and over open ground.
             */
            aside_reactions?: number;
            /** @description Where to stand: longitude, latitude. */
            at: [
                number,
                number
            ];
            /** @description When the walk begins: at the door, or at the car. */
            begin: string;
            /**
             * Format: double
             * @description Of these besides what is watched: what the limit is for.
             */
            besides_reactions: number;
            /**
             * Format: double
             * @description Of the way in, on the two calmer levels of ground; five are wanted.
             */
            calm_in_minutes: number;
            /** @description Where the car is left; left out where one walks from the door. */
            car?: components["schemas"]["VisitCar"];
            cautions: string[];
            /**
             * Format: double
             * @description That at least one shows in the stay.
             */
            chance: number;
            class: components["schemas"]["StepClass"];
            /**
             * Format: double
             * @description To the nearest point of what is watched.
             */
            distance_m: number;
            /** @description When a step of a sequence can be due if all before it go well: one visit a week, as many on each step as the rule wants, on its weekday and at its hour. */
            earliest?: string;
            easier: string[];
            /**
             * Format: double
             * @description Of the whole: ways, stay, and beside the car.
             */
            expected_reactions: number;
            /** @description The ground of its ways: send it back to have them told, drawn or printed again. */
            given?: components["schemas"]["GivenVisit"];
            /**
             * @description Ways out: A two that share no edge and keep nine tenths of the distance; B two that keep three quarters, one and open ground, or that over 60 degrees; C one and 20 m of room, or open ground; D one.
             * @enum {string}
             */
            grade: "A" | "B" | "C" | "D";
            /** @description In what it is harder than the step before. */
            harder: string[];
            /**
             * Format: double
             * @description Upper end of the 80 % interval of that number.
             */
            high: number;
            /** @description One of the places that were to be kept. */
            kept?: boolean;
            /**
             * Format: double
             * @description to.
             */
            lasts_high_s: number;
            /**
             * Format: double
             * @description Seconds that one lasts, from
             */
            lasts_low_s: number;
            /** @description The house. */
            leave: string;
            /**
             * Format: double
             * @description Lower end of the 80 % interval of that number.
             */
            low: number;
            /** @description Of a step with a known helper; left out for a chance visit. */
            meeting?: components["schemas"]["VisitMeeting"];
            /**
             * Format: double
             * @description That over the working distance.
             */
            multiple: number;
            /**
             * Format: double
             * @description Triggers expected in the stay, groups once.
             */
            number: number;
            /**
             * Format: double
             * @description Of it over open ground from the nearest way; left out on a way.
             */
            off_way_m?: number;
            /**
             * Format: double
             * @description Expected reactions to everything else during the stay.
             */
            other_reactions: number;
            pinned: boolean;
            /** @description Room is a default of the street's class, not measured. */
            room_default: boolean;
            /**
             * Format: double
             * @description Room beside the way, away from it.
             */
            room_m: number;
            /** @description Nearest point of it that is in sight. */
            sees: [
                number,
                number
            ];
            /**
             * Format: double
             * @description Share of its outline that is in sight.
             */
            sight_share: number;
            /** Format: double */
            stay_minutes: number;
            street: string;
            /**
             * Format: int64
             * @description for the most and longest, one every two.
             */
            treats_high: number;
            /**
             * Format: int64
             * @description Pieces of food for the fewest and shortest triggers that may come, at least one of them, one piece every four seconds;
             */
            treats_low: number;
            /**
             * Format: double
             * @description From the door, or from the car.
             */
            walk_m: number;
            watched: components["schemas"]["Watched"];
            /**
             * Format: double
             * @description Expected reactions to what is watched.
             */
            watched_reactions: number;
            way_home: components["schemas"]["Walk"];
            way_in: components["schemas"]["Walk"];
            /** @description By which street each way out goes the farthest: by Kiln Lane. */
            way_out_names: string[];
            ways_out: components["schemas"]["LineString"][];
        };
        VisitCar: {
            /** @description Where the walk begins. */
            at: [
                number,
                number
            ];
            /**
             * Format: int64
             * @description About so long, with parking, rounded to five: nobody has held it against a clock.
             */
            drive_minutes: number;
            name: string;
            /**
             * @description A public car park, one of which the map does not say whose it is, or the side of a small road.
             * @enum {string}
             */
            parking: "public" | "unknown" | "roadside";
        };
        VisitDone: {
            /**
             * Format: int64
             * @description Food taken and turned back, prompted or not.
             */
            handled: number;
            /** Format: int64 */
            refused_food?: number;
            /** Format: date-time */
            started: string;
            /**
             * Format: int64
             * @description Met while working.
             */
            triggers: number;
            /**
             * Format: int64
             * @description Of them unprompted, the sign of learning.
             */
            turned_back?: number;
            /**
             * Format: int64
             * @description Its number in the sequence, from 1.
             */
            visit: number;
            /** @description Id of the walk that it was logged as. */
            walk: string;
            /** Format: int64 */
            went_over?: number;
        };
        VisitDrawn: {
            /** @description As far from what is watched as the stand, 35 degrees to each side: a step along it changes no dose. */
            arc: [
                number,
                number
            ][];
            /** @description What is watched comes first of what is around. */
            drawing: components["schemas"]["Drawing"];
            visit: components["schemas"]["Visit"];
            /** @description Way in, stay and way home as one walk; the stay is the watch point that says stand. */
            walk: components["schemas"]["Walk"];
        };
        VisitLog: {
            /**
             * Format: int64
             * @description Food taken and turned back, prompted or not.
             */
            handled: number;
            /** Format: int64 */
            refused_food?: number;
            /**
             * Format: int64
             * @description Place in the sequence; larger is harder.
             */
            step: number;
            /**
             * Format: int64
             * @description Met while working.
             */
            triggers: number;
            /**
             * Format: int64
             * @description Of them unprompted, the sign of learning.
             */
            turned_back?: number;
            /** Format: int64 */
            went_over?: number;
        };
        VisitMeeting: {
            /** @description What it answers, but for the door and the dog: sent to /v1/setups with these it is had again, drawn and printed. */
            ask: components["schemas"]["SetupBody"];
            /** @description What to take where it is dark then. */
            dark?: string;
            /** @description Who is muzzle-trained and who is not, where one of the two has bitten. */
            muzzles?: string[];
            setup: components["schemas"]["Setup"];
            /** @description What a trainer said in writing, where the meeting rests on it. */
            word?: components["schemas"]["TrainerWord"];
        };
        VisitPaper: {
            /** @example 2026-11-26T17:20:00-05:00 */
            arrive: string;
            /** @description Where one stands. */
            at?: components["schemas"]["LatLon"];
            /** @description Where the walk begins, as an answer had it; left out for the door. */
            car?: components["schemas"]["LatLon"];
            /**
             * @description What drives the dog, for the advice only.
             * @enum {string}
             */
            driver?: "fear" | "frustration" | "excitement";
            /** @description The ways, as the visit was answered: they are told for the hour, without a search. Left out: those of the kept visit where it is drawn or printed for its own hour, else the calmest of the hour are looked for. */
            given?: components["schemas"]["GivenVisit"];
            /**
             * Format: int64
             * @description How many visits there are: with visit, for the title.
             */
            of?: number;
            /**
             * @description Left out: A4.
             * @enum {string}
             */
            paper?: "a4" | "letter";
            /** @description When training moves on; left out: common practice. */
            rule?: components["schemas"]["KeptTrainingRule"];
            /** @description A kept sequence, with visit, in place of wish, at and watched. */
            sequence?: string;
            /**
             * Format: double
             * @description Of a kept visit left out: as it was.
             * @example 8
             */
            stay_minutes?: number;
            /** @enum {string} */
            units?: "metric" | "us";
            /**
             * Format: int64
             * @description Number of its visit, from 1.
             */
            visit?: number;
            /**
             * @description The osm of what is watched; left out for ways.
             * @example way/123
             */
            watched?: string;
            wish?: components["schemas"]["VisitsBody"];
        };
        VisitPictureBody: {
            /** @example 2026-11-26T17:20:00-05:00 */
            arrive: string;
            /** @description Where one stands. */
            at?: components["schemas"]["LatLon"];
            /** @description Where the walk begins, as an answer had it; left out for the door. */
            car?: components["schemas"]["LatLon"];
            /** @description The ways, as the visit was answered: they are told for the hour, without a search. Left out: those of the kept visit where it is drawn or printed for its own hour, else the calmest of the hour are looked for. */
            given?: components["schemas"]["GivenVisit"];
            /**
             * Format: double
             * @description CSS pixels; left out: 392.
             */
            height_px?: number;
            /** @description A kept sequence, with visit, in place of wish, at and watched. */
            sequence?: string;
            /**
             * Format: double
             * @description Of a kept visit left out: as it was.
             * @example 8
             */
            stay_minutes?: number;
            /** @enum {string} */
            theme?: "light" | "dark" | "print";
            /** @enum {string} */
            units?: "metric" | "us";
            /**
             * Format: int64
             * @description Number of its visit, from 1.
             */
            visit?: number;
            /**
             * @description The osm of what is watched; left out for ways.
             * @example way/123
             */
            watched?: string;
            /**
             * Format: double
             * @description How much more ground than the place needs.
             */
            wider?: number;
            /**
             * Format: double
             * @description CSS pixels; left out: 390.
             */
            width_px?: number;
            wish?: components["schemas"]["VisitsBody"];
        };
        VisitsBody: {
            /** @description Places that must not. */
            bans?: components["schemas"]["LatLon"][];
            /** @description A trainer must set steps nearer than 1.5 times the working distance. */
            bite_history?: boolean;
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog; its cautions hold. */
            dog_id?: string;
            /**
             * Format: double
             * @description How long a drive to a visit may take, one way and with parking; 0: on foot from the door only; left out: 20.
             */
            drive_minutes?: number;
            /**
             * Format: double
             * @description First distance in multiples of the working distance; left out: 2.
             */
            farthest?: number;
            /** @description The door. */
            from: components["schemas"]["LatLon"];
            /**
             * @description For the helper: parks and pitches only, or grass as well of which the map does not tell whose it is; left out: parks.
             * @enum {string}
             */
            ground?: "parks" | "green";
            /** @description A known helper: the near half of the sequence is meetings with it on ground laid out for them, the far half chance visits; left out: chance visits only. */
            helper?: components["schemas"]["HelperBody"];
            /** @description Places that are taken rather than others where they fit. */
            keep?: components["schemas"]["LatLon"][];
            /**
             * @description What is to be watched: a kind or a category.
             * @example dogs
             */
            kind: string;
            /**
             * @description Of the ways out; left out: D from 1.5 times the working distance, B below.
             * @enum {string}
             */
            least_grade?: "A" | "B" | "C" | "D";
            limits?: components["schemas"]["LimitsBody"];
            /**
             * Format: double
             * @description That one visit may cost besides those to what is watched, ways and all; left out: 0.25.
             */
            max_expected_reactions?: number;
            /**
             * Format: double
             * @description Last distance; left out: 1. Nothing nearer is offered.
             */
            nearest?: number;
            /** @description Places that must be in it. */
            pins?: components["schemas"]["LatLon"][];
            /**
             * Format: double
             * @description How far to walk there from the door; left out: 2,500.
             */
            reach_m?: number;
            /** @description When one could stand there, RFC 3339; left out: four times a day on the next five days. */
            times?: string[];
            /** @description For the helper: ground with one way in for both, too. */
            together?: boolean;
            /** @description As somebody says it is on the day; left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        Walk: {
            /**
             * Format: double
             * @description Chance that the dog does not bark, lunge or freeze, with what is not known mixed in.
             */
            calm_chance: number;
            /**
             * Format: double
             * @description Upper end of its 80 % interval.
             */
            calm_high: number;
            /**
             * Format: double
             * @description Lower end of its 80 % interval.
             */
            calm_low: number;
            /** @description What the day asks for on this walk: a light in the dark, paws in heat and ice, livestock, fireworks. */
            care?: string[];
            /**
             * Format: double
             * @description Of the longest calm walk: proved, no loop at least this long keeps the budget.
             */
            ceiling_s?: number;
            /**
             * Format: double
             * @description Share of the walk whose room is a default of its street class, not measured.
             */
            default_room_share: number;
            /**
             * Format: double
             * @description Seconds at the dog's usual pace.
             */
            duration_s: number;
            /** @description What is expected by kind, most reactions first. */
            encounters: components["schemas"]["Encounters"][];
            /**
             * Format: double
             * @description Expected number of times the dog goes over threshold.
             */
            expected_reactions: number;
            /**
             * Format: int64
             * @description How often the same round is walked; 1 is no lap.
             */
            laps: number;
            legs: components["schemas"]["Leg"][];
            /** Format: double */
            length_m: number;
            /**
             * Format: double
             * @description Longest stretch on calm ground, in seconds.
             */
            longest_calm_s: number;
            /**
             * Format: double
             * @description Seconds on or within 15 m of a main road.
             */
            main_road_s: number;
            /** @description What moves the answer most, at most three. */
            movers: components["schemas"]["Contribution"][];
            /** @description Fixed sources the walk comes near. */
            passed: components["schemas"]["Passed"][];
            quality: components["schemas"]["Quality"];
            /**
             * Format: double
             * @description Seconds on streets already walked.
             */
            repeated_s: number;
            /** @enum {string} */
            shape: "loop" | "there_and_back" | "way" | "longest_calm";
            /**
             * Format: double
             * @description Least expected time between encounters, in seconds.
             */
            shortest_gap_s: number;
            /**
             * Format: double
             * @description Seconds on or right beside grass, earth or wood.
             */
            soft_ground_s: number;
            /**
             * Format: double
             * @description Expected reactions when arousal builds up; common practice, no published value.
             */
            stacked_reactions?: number;
            /**
             * Format: double
             * @description Beside the expected reactions and not in them: what moving traffic, wide crossings and the dark count, in the same unit. 0.1 is a minute on the carriageway of a main road.
             */
            strain: number;
            /**
             * Format: double
             * @description Seconds out on what is the way home as well, before the round; of a walk there and back all of the way out.
             */
            tail_s: number;
            /**
             * Format: double
             * @description Expected reactions and strain over those of the first walk.
             */
            times_best: number;
            /**
             * Format: int64
             * @description and one every two seconds. A day with more meetings needs more.
             */
            treats_high: number;
            /**
             * Format: int64
             * @description Pieces of food on an average walk like this: one every four seconds while something is nearer than the working distance,
             */
            treats_low: number;
            /**
             * Format: int64
             * @description How often the walk turns about.
             */
            turns: number;
            /** @description At most four places to be ready at, those that matter most, in walking order; on a visit and in an outing also where to stand and where to wait. */
            watch_points: components["schemas"]["WatchPoint"][];
        };
        WatchPoint: {
            /** @description What else lies within 60 m, most important first. */
            also?: ("source" | "blind_corner" | "pinch" | "crossing" | "school_bell")[];
            at: [
                number,
                number
            ];
            /** Format: double */
            at_s: number;
            /**
             * @description What to do there.
             * @enum {string}
             */
            deed: "keep_left" | "keep_right" | "far_side" | "look_first" | "wait_through" | "wait_clear" | "swing_wide" | "stop_look" | "stand" | "hold";
            /** Format: double */
            distance_m?: number;
            /**
             * Format: double
             * @description Metres into the walk.
             */
            from_m: number;
            name: string;
            /** @description Of a hold in an outing: not to be left before, RFC 3339. */
            not_before?: string;
            /** Format: double */
            room_m?: number;
            /** @enum {string} */
            side?: "left" | "right";
            /** Format: double */
            sight_m?: number;
            /** @enum {string} */
            what: "source" | "blind_corner" | "pinch" | "crossing" | "school_bell" | "stand" | "hold";
        };
        Watched: {
            name: string;
            /**
             * @description Of a place; left out for ways.
             * @example way/123
             */
            osm?: string;
            /** @example dog_park */
            sort: string;
        };
        WayOutBody: {
            /** @description Where the handler stands. */
            at: components["schemas"]["LatLon"];
            dog?: components["schemas"]["DogFile"];
            /**
             * @description What it is; left out: dog_on_lead.
             * @example dog_off_lead
             */
            kind?: string;
            /**
             * Format: double
             * @description How fast it comes along the ways towards the handler; 0 stands.
             * @example 1.4
             */
            speed_mps?: number;
            /** @description Where the trigger is. */
            threat: components["schemas"]["LatLon"];
        };
        WayOutInfo: {
            /** @description Side to step to, as one walks; with nothing to walk, as one faces the trigger. */
            aside?: string;
            /** Format: double */
            aside_m?: number;
            /**
             * Format: double
             * @description That the trigger does what this way allows for.
             */
            chance: number;
            /** Format: double */
            ends_m: number;
            geometry: components["schemas"]["LineString"];
            /** @description Ends out of its sight. */
            hidden: boolean;
            /**
             * @description What it rests on. From a loose dog that comes: between, to the first of the cover, or stand.
             * @enum {string}
             */
            means: "stay" | "turn_back" | "side_street" | "aside" | "walk_on" | "between" | "stand";
            /**
             * Format: double
             * @description Least distance on the way, over what the trigger likely does.
             */
            nearest_m: number;
            /** Format: double */
            pace_mps: number;
            /** Format: double */
            present_m: number;
            /**
             * Format: double
             * @description Until the working distance is reached or it is out of sight, of between until one is there; -1 where neither is in reach.
             */
            seconds: number;
            /** @description Where it ends: the end of the line, or aside of it. */
            stand: [
                number,
                number
            ];
            /** @description First move, for somebody who faces the trigger. */
            turn: string;
        };
        WaysOut: {
            /** @description What helps besides, seen by somebody who faces the trigger. */
            aid: components["schemas"]["AidInfo"];
            attribution: string;
            /** @description At a brisk one, 1.6 m/s. */
            brisk: components["schemas"]["WayOutInfo"];
            /** @description At the dog's own pace. */
            calm: components["schemas"]["WayOutInfo"];
        };
        WaysOutAlong: {
            attribution: string;
            stretches: components["schemas"]["StretchOut"][];
        };
        WaysOutBody: {
            dog?: components["schemas"]["DogFile"];
            /**
             * @description What turns up; left out: dog_on_lead.
             * @example dog_off_lead
             */
            kind?: string;
            /** @description The walk, as a plan's legs have it. */
            line: [
                number,
                number
            ][];
        };
        WeatherBody: {
            /**
             * @description For the season, where no temperature is given: taken as seven degrees off the usual.
             * @enum {string}
             */
            feel?: "hot" | "cold";
            /**
             * @description Light from one millimetre in a day, heavy from ten.
             * @example light
             * @enum {string}
             */
            rain?: "none" | "light" | "heavy";
            /**
             * Format: double
             * @description Highest temperature of the day in degrees Celsius.
             * @example 24
             */
            temperature_c?: number;
        };
        Week: {
            attribution: string;
            /** @description The best three windows as indices of hours, best first; within the free hours, no two on neighbouring hours. */
            best: number[];
            caution: string;
            /** @description In order of time. */
            hours: components["schemas"]["HourInfo"][];
            time_zone: string;
        };
        WeekBody: {
            /** @description Where nobody knows dog and handler: ground with rules of its own (works, schools, cemeteries) is kept off, service roads have a price. */
            away?: boolean;
            /**
             * @description RFC 3339 with its zone; left out: now.
             * @example 2026-11-25T07:10:00-05:00
             */
            depart?: string;
            /** @description The dog and its distances; left out: the stated defaults. */
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog. */
            dog_id?: string;
            /** @description The best windows keep to them. Left out: those kept with the account, else 06:00-22:00 in daylight or on lit ways. */
            free_hours?: components["schemas"]["KeptFreeHours"];
            from: components["schemas"]["LatLon"];
            /**
             * Format: int64
             * @description How many whole hours from the departure's on; left out: a week.
             */
            hours?: number;
            limits?: components["schemas"]["LimitsBody"];
            /**
             * Format: double
             * @description Of the longest calm walk: what it may cost.
             */
            max_expected_reactions?: number;
            /**
             * Format: double
             * @description Wished duration, 5 to 180; of a way the most it may take. Left out: 30, of a way twice the quickest.
             * @example 30
             */
            minutes?: number;
            /**
             * @description Form of the walk; loop is loops alone. Left out: way if there is a 'to', else the calmest of any form from the door and back.
             * @enum {string}
             */
            shape?: "calmest" | "loop" | "there_and_back" | "way" | "longest_calm";
            /** @description Rather on grass, earth and wood. */
            soft_ground?: boolean;
            /** @description Also report expected reactions when arousal builds up. */
            stacking?: boolean;
            /**
             * @description What moving traffic, its noise, wide crossings and the dark count beside expected reactions: nothing, their usual price, or three times that. Left out: usual.
             * @enum {string}
             */
            strain?: "none" | "usual" | "strict";
            /** @description Where a way leads. */
            to?: components["schemas"]["LatLon"];
            /**
             * Format: int64
             * @description How many clearly different ones; left out: three.
             */
            walks?: number;
            /** @description As somebody says it is: nobody is asked for it. Left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        WeekDog: {
            dog: string;
            /** Format: double */
            granted_minutes: number;
            /**
             * Format: int64
             * @description Days on which no walk could be had.
             */
            left_in: number;
            /**
             * Format: int64
             * @description Days off.
             */
            rests: number;
            /** Format: int64 */
            walks: number;
            /** Format: double */
            wished_minutes: number;
        };
        WeekLoad: {
            person: string;
            /** Format: int64 */
            there_minutes: number;
            /**
             * Format: int64
             * @description At the slowest pace.
             */
            walk_minutes: number;
            /** Format: int64 */
            walks: number;
        };
        Where: {
            assumed: string[];
            attribution: string;
            caution: string;
            /**
             * Format: int64
             * @description Places to leave a car that the drive leads to.
             */
            in_reach: number;
            /**
             * Format: int64
             * @description Of these, places that a walk was searched for; a calmer one may exist.
             */
            looked_at: number;
            /** @description How the options were found, and what there is not. */
            notes: string[];
            /** @description Least expected reactions and strain first. */
            options: components["schemas"]["WhereOption"][];
            time_zone: string;
        };
        WhereBody: {
            /** @description Where nobody knows dog and handler: ground with rules of its own (works, schools, cemeteries) is kept off, service roads have a price. */
            away?: boolean;
            /**
             * @description RFC 3339 with its zone; left out: now.
             * @example 2026-11-25T07:10:00-05:00
             */
            depart?: string;
            /** @description The dog and its distances; left out: the stated defaults. */
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog. */
            dog_id?: string;
            /**
             * Format: double
             * @description How long the drive may take, one way and with parking, 1 to 60; left out: 15.
             * @example 15
             */
            drive_minutes?: number;
            /** @description Left out: those kept with the account, else 06:00-22:00 in daylight or on lit ways. */
            free_hours?: components["schemas"]["KeptFreeHours"];
            from: components["schemas"]["LatLon"];
            limits?: components["schemas"]["LimitsBody"];
            /**
             * Format: double
             * @description Of the longest calm walk: what it may cost.
             */
            max_expected_reactions?: number;
            /**
             * Format: double
             * @description Wished duration, 5 to 180; of a way the most it may take. Left out: 30, of a way twice the quickest.
             * @example 30
             */
            minutes?: number;
            /**
             * Format: int64
             * @description How many places, 1 to 10; left out: five.
             */
            most?: number;
            /** @description No car: the door alone, now and at a better hour. */
            on_foot?: boolean;
            /**
             * @description Form of the walk; loop is loops alone. Left out: way if there is a 'to', else the calmest of any form from the door and back.
             * @enum {string}
             */
            shape?: "calmest" | "loop" | "there_and_back" | "way" | "longest_calm";
            /** @description Rather on grass, earth and wood. */
            soft_ground?: boolean;
            /** @description Also report expected reactions when arousal builds up. */
            stacking?: boolean;
            /**
             * @description What moving traffic, its noise, wide crossings and the dark count beside expected reactions: nothing, their usual price, or three times that. Left out: usual.
             * @enum {string}
             */
            strain?: "none" | "usual" | "strict";
            /** @description Where a way leads. */
            to?: components["schemas"]["LatLon"];
            /**
             * Format: int64
             * @description How many clearly different ones; left out: three.
             */
            walks?: number;
            /** @description As somebody says it is: nobody is asked for it. Left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        WhereLater: {
            begin: string;
            /** Format: double */
            expected_reactions: number;
            leave: string;
            /** Format: double */
            strain: number;
        };
        WhereOption: {
            /** @description Where the walk begins: longitude, latitude. */
            at: [
                number,
                number
            ];
            /**
             * @description When the walk begins.
             * @example 2026-11-25T07:21:00-05:00
             */
            begin: string;
            /**
             * Format: int64
             * @description About so long, rounded to five: nobody has held it against a clock.
             */
            drive_minutes?: number;
            /** @description The walk's address: send it back to have it drawn, printed, proved or told again. */
            given?: components["schemas"]["Given"];
            /** @enum {string} */
            kind: "door_now" | "door_later" | "by_car";
            /** @description Of a place: what it brings to who leaves at the door's better hour and is home again in time. */
            later?: components["schemas"]["WhereLater"];
            /**
             * @description The house, RFC 3339.
             * @example 2026-11-25T07:10:00-05:00
             */
            leave: string;
            /**
             * @description What the place is called; no two of one answer are alike.
             * @example Bellevue State Park, Bellefonte
             */
            name: string;
            /** @description Rules of the place, and what else to know. */
            notes: string[];
            /** @description Where the drive ends. */
            park_at?: [
                number,
                number
            ];
            /**
             * @description Of a place: a public car park, one of which the map does not say whose it is, or the side of a small road.
             * @enum {string}
             */
            parking?: "public" | "unknown" | "roadside";
            saves: components["schemas"]["WhereSaving"];
            walk: components["schemas"]["Walk"];
        };
        WhereSaving: {
            /** Format: double */
            expected_reactions: number;
            /**
             * Format: double
             * @description Of the door's sum of both, as the wish weighs it; 0 where there is no walk from the door now.
             */
            share: number;
            /** Format: double */
            strain: number;
        };
        WishBody: {
            /** @description Where nobody knows dog and handler: ground with rules of its own (works, schools, cemeteries) is kept off, service roads have a price. */
            away?: boolean;
            /**
             * @description RFC 3339 with its zone; left out: now.
             * @example 2026-11-25T07:10:00-05:00
             */
            depart?: string;
            /** @description The dog and its distances; left out: the stated defaults. */
            dog?: components["schemas"]["DogFile"];
            /** @description A kept dog, in place of dog. */
            dog_id?: string;
            from: components["schemas"]["LatLon"];
            limits?: components["schemas"]["LimitsBody"];
            /**
             * Format: double
             * @description Of the longest calm walk: what it may cost.
             */
            max_expected_reactions?: number;
            /**
             * Format: double
             * @description Wished duration, 5 to 180; of a way the most it may take. Left out: 30, of a way twice the quickest.
             * @example 30
             */
            minutes?: number;
            /**
             * @description Form of the walk; loop is loops alone. Left out: way if there is a 'to', else the calmest of any form from the door and back.
             * @enum {string}
             */
            shape?: "calmest" | "loop" | "there_and_back" | "way" | "longest_calm";
            /** @description Rather on grass, earth and wood. */
            soft_ground?: boolean;
            /** @description Also report expected reactions when arousal builds up. */
            stacking?: boolean;
            /**
             * @description What moving traffic, its noise, wide crossings and the dark count beside expected reactions: nothing, their usual price, or three times that. Left out: usual.
             * @enum {string}
             */
            strain?: "none" | "usual" | "strict";
            /** @description Where a way leads. */
            to?: components["schemas"]["LatLon"];
            /**
             * Format: int64
             * @description How many clearly different ones; left out: three.
             */
            walks?: number;
            /** @description As somebody says it is: nobody is asked for it. Left out: as usual in the season. */
            weather?: components["schemas"]["WeatherBody"];
        };
        WrittenBody: {
            dogs?: components["schemas"]["OutingDog"][];
            /** @description Where all walks leave, whose zone hours are in; left out with a timetable, or where there is one map alone. */
            gate?: components["schemas"]["LatLon"];
            /** Format: double */
            minutes?: number;
            /**
             * @description Of an outing its dogs or its people, of a timetable its walks.
             * @enum {string}
             */
            of: "dogs" | "people" | "walks";
            people?: components["schemas"]["OutingPerson"][];
            /** @description Of the outing, where dogs or people have hours. */
            start?: string;
            timetable?: components["schemas"]["Timetable"];
        };
    };
    responses: never;
    parameters: never;
    requestBodies: never;
    headers: never;
    pathItems: never;
}
export type $defs = Record<string, never>;
export interface operations {
    health: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    "Cache-Control"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["HealthOutputBody"];
                };
            };
            /** @description Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    ready: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    "Cache-Control"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["HealthOutputBody"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    account: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptAccount"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-account": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Delete-accountRequest"];
            };
        };
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "set-settings": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptSettings"];
            };
        };
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    counts: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptCount"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "add-count": {
        parameters: {
            query?: never;
            header?: {
                /** @description Chosen by the client: what is sent twice under one key is stored once. */
                "Idempotency-Key"?: string;
            };
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptCountInput"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptCount"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "export-counts": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The table */
            200: {
                headers: {
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/csv": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "counts-report": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["CountReport"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-count": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    documents: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                kind: "visits" | "outings";
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDocumentHead"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    document: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                kind: "visits" | "outings";
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDocument"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "put-document": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                kind: "visits" | "outings";
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["DocumentBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDocument"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-document": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                kind: "visits" | "outings";
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    dogs: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDog"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "add-dog": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptProfile"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDog"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    dog: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDog"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "set-dog": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["DogChangeBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDog"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "adopter-note": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["AdopterNote"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-dog": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Delete-dogRequest"];
            };
        };
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    encounters: {
        parameters: {
            query?: {
                /** @description Of one walk only: its key or id. */
                walk?: string;
            };
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptEncounter"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "log-encounter": {
        parameters: {
            query?: never;
            header?: {
                /** @description Chosen by the client: what is sent twice under one key is stored once. */
                "Idempotency-Key"?: string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptEncounterInput"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LoggedEncounter"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    export: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The export */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptEverything"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "export-csv": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The export */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "text/csv": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "export-gpx": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description The export */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/gpx+xml": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "lift-flag": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDog"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    history: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptChange"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "revert-change": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
                change: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptChange"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "kept-plans": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptPlanHead"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "keep-plan": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PlanKeptBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptPlan"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    proposals: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["ProposalInfo"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "accept-proposal": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
                name: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Accept-proposalRequest"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptChange"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    shares: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptShare"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "make-share": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Make-shareRequest"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["NewShare"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    walks: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptWalk"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "log-walk": {
        parameters: {
            query?: never;
            header?: {
                /** @description Chosen by the client: what is sent twice under one key is stored once. */
                "Idempotency-Key"?: string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptWalkInput"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptWalk"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    words: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptWord"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "add-word": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptWordInput"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptWord"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    drawings: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Shown"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DrawnPlan"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "set-encounter": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptEncounterInput"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["LoggedEncounter"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "remove-encounter": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    explain: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["ExplainBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Explanation"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "hand-out": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["HandOutBody"];
            };
        };
        responses: {
            /** @description The page */
            200: {
                headers: {
                    "Content-Security-Policy"?: string;
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/html": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    hazards: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["AroundBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Hazards"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "revoke-key": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    limits: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptLimit"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    map: {
        parameters: {
            query?: {
                /** @description LAT,LON in degrees: zone, clock and age of the map of this place. Left out: of the first. */
                at?: string;
            };
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    "Cache-Control"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["MapInfo"];
                };
            };
            /** @description Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "plan-outing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["OutingBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Timetable"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "check-outing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CheckBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["OutingCheck"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "draw-outing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["OutingWalksBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["DrawnOutingWalk"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "count-gate": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["OutingBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["GateCount"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "print-outing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["OutingPaper"];
            };
        };
        responses: {
            /** @description The pages */
            200: {
                headers: {
                    "Content-Security-Policy"?: string;
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/html": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "replan-outing": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["DayBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Timetable"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "write-outing-table": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WrittenBody"];
            };
        };
        responses: {
            /** @description The table */
            200: {
                headers: {
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/csv": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "read-outing-tables": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Body"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Lists"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "plan-outing-week": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["OutingWeekBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["OutingWeek"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    people: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptPerson"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "add-person": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PersonBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["NewPerson"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "set-person": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PersonBody"];
            };
        };
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "remove-person": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "make-key": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Make-keyRequest"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["NewKey"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    picture: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PictureBody"];
            };
        };
        responses: {
            /** @description The picture */
            200: {
                headers: {
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/svg+xml": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    places: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["PlacesBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["FoundPlaces"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    plan: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WishBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PlanBody"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "tell-plan": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Shown"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PlanBody"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "kept-plan": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PlanBody"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-plan": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    proof: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["Shown"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["PlanBody"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    reports: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptReport"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "add-report": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptReportInput"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptReport"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-report": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    confirmation: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptReport"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    dispute: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptReport"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "plan-setup": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SetupBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SetupList"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "print-setup": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SetupSheetBody"];
            };
        };
        responses: {
            /** @description The pages */
            200: {
                headers: {
                    "Content-Security-Policy"?: string;
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/html": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "setup-picture": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["SetupPictureBody"];
            };
        };
        responses: {
            /** @description The picture */
            200: {
                headers: {
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/svg+xml": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    shared: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SharedDog"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "revoke-share": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    sources: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["AroundBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Sources"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    streets: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["ReachBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["RankedStreets"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    vantages: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["VantageBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["VantageList"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "plan-visits": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["VisitsBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Sequence"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "draw-visit": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RevisitBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["VisitDrawn"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "print-visit": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["VisitPaper"];
            };
        };
        responses: {
            /** @description The page */
            200: {
                headers: {
                    "Content-Security-Policy"?: string;
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "text/html": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "visit-picture": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["VisitPictureBody"];
            };
        };
        responses: {
            /** @description The picture */
            200: {
                headers: {
                    "Content-Type"?: string;
                    [name: string]: unknown;
                };
                content: {
                    "image/svg+xml": unknown;
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "visit-progress": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["ProgressBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["MoveInfo"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "replan-visit": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["RevisitBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Visit"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "copy-sequence": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["CopyBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDocument"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "decide-visit": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["DecisionBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptDocument"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "sequence-progress": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["SequenceProgress"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "set-walk": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["KeptWalkInput"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptWalk"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-walk": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    track: {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["KeptStamp"][];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "add-track": {
        parameters: {
            query?: never;
            header?: {
                "Content-Type"?: string;
            };
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/gpx+xml": string;
                "application/octet-stream": string;
                "application/xml": string;
                "text/xml": string;
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["TrackInfo"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "delete-track": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "way-out": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WayOutBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["WaysOut"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "ways-out-along": {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WaysOutBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["WaysOutAlong"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    week: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WeekBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Week"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    where: {
        parameters: {
            query?: never;
            header?: never;
            path?: never;
            cookie?: never;
        };
        requestBody: {
            content: {
                "application/json": components["schemas"]["WhereBody"];
            };
        };
        responses: {
            /** @description OK */
            200: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/json": components["schemas"]["Where"];
                };
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
    "withdraw-word": {
        parameters: {
            query?: never;
            header?: never;
            path: {
                id: string;
            };
            cookie?: never;
        };
        requestBody?: never;
        responses: {
            /** @description No Content */
            204: {
                headers: {
                    [name: string]: unknown;
                };
                content?: never;
            };
            /** @description Internal Server Error */
            default: {
                headers: {
                    [name: string]: unknown;
                };
                content: {
                    "application/problem+json": components["schemas"]["Problem"];
                };
            };
        };
    };
}
