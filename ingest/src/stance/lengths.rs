//! What a length mostly is: the size of gear or of the boat, or chain, rope and play that were seen.

use std::ops::Range;

use crate::found::Stance;
use crate::token::Gap;
use crate::word::WordList;

use super::Stances;
use super::around::Around;

impl Stances<'_, '_> {
    /// What a length mostly is.
    pub(super) fn of_length(&self, number: &Range<usize>, around: &Around<'_>) -> Stance {
        let tokens = &self.talk.tokens;
        let has = |words: &WordList| around.has(words);
        let near = &tokens[around.near.clone()];
        let unit = &tokens[number.end.saturating_sub(1)];
        let after = around.after;
        let behind = |words: &WordList| around.behind(words);
        let in_clause = |words: &WordList| around.in_clause(words);
        let out = behind(words!["out", "up", "down", "under", "higher", "lower", "too", "short"])
            || in_clause(words!["out", "anchored", "veered", "paid", "dropped", "slop", "under", "reset"]);
        let moved = behind(words!["of"])
            && tokens.get(number.end + 1).is_some_and(|t| {
                t.is_any(words![
                    "play",
                    "slop",
                    "movement",
                    "travel",
                    "deflection",
                    "sag",
                    "stretch",
                    "weed",
                    "growth",
                    "ice",
                    "rust",
                    "slack",
                    "water",
                    "snow",
                    "freeplay",
                ])
            })
            || in_clause(words!["stretched", "stretches", "sagged", "streamed", "deflection", "slipped"]);
        // "sixty metres of warp off the quarter", "twenty metres of chain over the side".
        let overboard = near.windows(3).any(|w| {
            w[0].is_any(words!["off", "over", "from"])
                && w[1].is_any(words!["the", "her", "my"])
                && w[2]
                    .is_any(words!["side", "stern", "bow", "bows", "quarter", "back", "transom", "pushpit",])
        }) || has(words![
            "trailed", "trailing", "towed", "towing", "streamed", "astern", "veered"
        ]);
        let of_rope = behind(words!["of"])
            && (1..=3).any(|n| {
                tokens.get(number.end + n).is_some_and(|t| {
                    t.is_any(words!["rope", "line", "warp", "chain", "rode", "it", "nylon", "cable"])
                })
            });
        // "sixty feet of chain and it held": what there is of chain is out, unless it is owned or bought.
        let owned = has(words![
            "got", "have", "'ve", "has", "carry", "carries", "new", "bought", "spare", "locker", "holds",
            "made", "comes", "drogue", "bridle", "snubber",
        ]);
        // "60 m of 10 mm chain" is the rode's own, unless it went over the side.
        let sized = tokens
            .get(number.end + 1)
            .is_some_and(|t| t.kind == crate::token::Kind::Number || crate::number::is_number_word(t));
        let chain = of_rope
            && !sized
            && (1..=3)
                .any(|n| tokens.get(number.end + n).is_some_and(|t| t.is_any(words!["chain", "cable"])));
        // "over it went on sixty metres of the big warp".
        let on = number.start > 0 && tokens[number.start - 1].is_any(words!["on", "to"]);
        // "A canvas cone thirty inches across the mouth on two hundred feet of nylon": what it is made up with.
        let made_up = on && has(words!["mouth", "across", "cone", "cones", "propeller", "turbine"]);
        let moved = moved || of_rope && (overboard || on && !owned && !made_up) || chain && !owned;
        // "thirty-six feet, steel, long keel": the boat's own.
        let hull = has(words![
            "steel",
            "aluminium",
            "aluminum",
            "grp",
            "fibreglass",
            "fiberglass",
            "glass",
            "larch",
            "oak",
            "wood",
            "wooden",
            "loa",
            "overall",
            "keel",
            "built",
            "ketch",
            "sloop",
            "cutter",
            "yawl",
            "schooner",
            "gaffer",
            "catamaran",
            "design",
            "designed",
            "displaces",
            "tonnes",
            "tons",
        ]) && !out;
        // "38 mm bore", "the 10 mm bolt": what is told in millimetres is a thing's own, where it names the thing.
        let small = unit.is_any(words!["mm", "mil", "mils", "millimetre", "millimetres", "millimeter"])
            && behind(words![
                "bore",
                "dia",
                "diameter",
                "hose",
                "pipe",
                "shackle",
                "bolt",
                "bolts",
                "wire",
                "thick",
                "chain",
                "rope",
                "line",
                "pin",
                "webbing",
                "tube",
                "cable",
                "rod",
                "shaft",
                "packing",
                "ply",
                "plate",
                "section",
                "dyneema",
                "polyester",
                "nylon",
                "spectra",
            ]);
        let unit_is_mm = unit.is_any(words!["mm", "mil", "millimetre", "millimetres", "millimeter"]);
        // "lowers, 6 mm", "the drains are thirty eight millimetre": a size, unless something was measured by it.
        let size = unit_is_mm
            && !has(words![
                "gap",
                "play",
                "wear",
                "worn",
                "moved",
                "moves",
                "lifted",
                "deflection",
                "bent",
                "rain",
                "crack",
                "clearance",
                "short",
                "longer",
                "shorter",
                "higher",
                "lower",
                "water",
                "slack",
                "sag",
                "stretch",
                "stretched",
                "slop",
                "out",
                "left",
                "measured",
                "found",
                "ice",
                "snow",
                "travel",
                "taken",
                "off",
                "turned",
                "between",
                "deep",
                "apart",
                "down",
                "up",
            ]);
        let size = size && !has(words!["half", "quarter", "third"]);
        // "anchor 33 kg, chain 80 m of 10 mm" is the rode's own.
        let stowed = behind(words!["of"]) && sized && has(words!["kg", "lb", "kilos", "pounds"]);
        if hull || small && !moved || size || stowed {
            return Stance::Spec;
        }
        let gear = words![
            "tether",
            "tethers",
            "drogue",
            "bridle",
            "legs",
            "line",
            "rope",
            "nylon",
            "anchor",
            "webbing",
            "jackline",
            "jacklines",
            "jackstays",
            "sheets",
            "sheet",
            "boat",
            "sloop",
            "ketch",
            "cutter",
            "yawl",
            "mast",
            "boom",
            "hull",
            "dinghy",
            "paddle",
            "cones",
            "mouth",
            "long",
            "wide",
            "across",
            "each",
            "chain",
            "warp",
            "snubber",
            "rode",
            "footer",
            "diameter",
            "beam",
            "draft",
            "draught",
            "strop",
            "halyard",
            "tackle",
            "cable",
            "pole",
            "ladder",
            "tender",
            "pipe",
            "chimney",
            "flue",
            "funnel",
            "stovepipe",
            "oar",
            "oars",
            "poles",
            "plank",
        ];
        let unit = tokens.get(number.end.saturating_sub(1));
        let singular = unit.is_some_and(|t| t.is_any(words!["foot", "metre", "meter", "inch", "footer"]))
            && after.is_some_and(|t| {
                t.kind == crate::token::Kind::Word
                    && !t.is_any(words![
                        "of", "out", "under", "in", "or", "to", "and", "off", "up", "from", "at", "on",
                    ])
            });
        // "a 12 m snubber", "my 60 m warp".
        let singular = singular
            || number.start > 0
                && tokens[number.start - 1].is_any(words!["a", "an", "my", "our", "the", "new"])
                && after.is_some_and(|t| {
                    t.gap <= Gap::Space
                        && t.is_any(words![
                            "snubber", "warp", "tether", "line", "rope", "bridle", "rode", "mast", "boat",
                            "yacht", "dinghy", "strop", "jackline", "chain", "kedge", "pole", "hose",
                            "drogue", "sheet",
                        ])
                });
        let anchored = has(words![
            "anchored", "dropped", "veered", "anchor", "hook", "anch", "holding", "swinging", "sand", "mud",
            "brought",
        ]) && (has(words!["chain", "rode", "rope"]) || behind(words!["out", "chain"]));
        if moved {
            Stance::Observed
        } else if singular && !out {
            Stance::Spec
        } else if out || (anchored && !in_clause(words!["'ve", "have", "got"])) {
            Stance::Observed
        } else if has(gear) {
            Stance::Spec
        } else {
            Stance::Observed
        }
    }
}
