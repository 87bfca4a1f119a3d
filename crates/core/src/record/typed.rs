//! Words as people type them: in any case, with marks at the end, with hyphens or without; and what they may mean where they are none
//! of those that a column holds.

use super::Event;

/// A cell that holds a word.
pub(super) struct Typed {
    /// In small letters, with single blanks for hyphens and other separators and without marks at the end.
    pub(super) word: String,
    /// Whether a question mark leaves it in doubt.
    pub(super) doubtful: bool,
}

impl Typed {
    pub(super) fn of(text: &str) -> Self {
        let lower = text.trim().to_lowercase();
        let bare = lower.trim_end_matches(['!', '?', '.', ',', ';', ':', '*']).trim_start_matches(['(', '"', '*']);
        let parts = bare.split(|c: char| c.is_whitespace() || matches!(c, '-' | '_' | '‑'));
        let word = parts.filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
        Self { word, doubtful: text.contains('?') }
    }

    /// The meaning of the word in a list; of a doubtful one only such a meaning as never makes an answer less urgent.
    pub(super) fn meaning<T: Copy>(&self, words: &[(T, &'static str)], is_strict: impl Fn(T) -> bool) -> Option<T> {
        let found = words.iter().find(|(_, word)| *word == self.word).map(|(meaning, _)| *meaning);
        found.filter(|meaning| !self.doubtful || is_strict(*meaning))
    }
}

/// Other words for events. None of them stands for work that only starts the trend afresh, which makes an answer less urgent.
pub(super) const EVENT_WORDS: [(Event, &str); 61] = [
    (Event::Drying, "asciugatura"),
    (Event::Drying, "secagem"),
    (Event::Rewound, "rewind"),
    (Event::Rewound, "rewinds"),
    (Event::Rewound, "rewinding"),
    (Event::Rewound, "rewinded"),
    (Event::Rewound, "re wound"),
    (Event::Rewound, "re wind"),
    (Event::Rewound, "re winding"),
    (Event::Rewound, "stator rewound"),
    (Event::Rewound, "stator rewind"),
    (Event::Rewound, "motor rewound"),
    (Event::Rewound, "motor rewind"),
    (Event::Rewound, "winding rewound"),
    (Event::Rewound, "new winding"),
    (Event::Rewound, "new windings"),
    (Event::Rewound, "new coils"),
    (Event::Rewound, "neu gewickelt"),
    (Event::Rewound, "neuwicklung"),
    (Event::Rewound, "rebobiné"),
    (Event::Rewound, "rebobinage"),
    (Event::Rewound, "rebobinado"),
    (Event::Rewound, "riavvolto"),
    (Event::Rewound, "herwikkeld"),
    (Event::Replaced, "replace"),
    (Event::Replaced, "replacement"),
    (Event::Replaced, "replacements"),
    (Event::Replaced, "new stator"),
    (Event::Replaced, "new motor"),
    (Event::Replaced, "new machine"),
    (Event::Replaced, "motor replaced"),
    (Event::Replaced, "stator replaced"),
    (Event::Replaced, "winding replaced"),
    (Event::Replaced, "ersetzt"),
    (Event::Replaced, "remplacé"),
    (Event::Replaced, "reemplazado"),
    (Event::Replaced, "sostituito"),
    (Event::Replaced, "substituído"),
    (Event::Replaced, "vervangen"),
    (Event::Flooded, "flood"),
    (Event::Flooded, "floods"),
    (Event::Flooded, "flooding"),
    (Event::Flooded, "submerged"),
    (Event::Flooded, "submersed"),
    (Event::Flooded, "immersed"),
    (Event::Flooded, "under water"),
    (Event::Flooded, "underwater"),
    (Event::Flooded, "überflutet"),
    (Event::Flooded, "hochwasser"),
    (Event::Flooded, "inondé"),
    (Event::Flooded, "inundado"),
    (Event::Flooded, "allagato"),
    (Event::Flooded, "overstroomd"),
    (Event::Drying, "drying out"),
    (Event::Drying, "dry out"),
    (Event::Drying, "dryout"),
    (Event::Drying, "being dried"),
    (Event::Drying, "baking"),
    (Event::Drying, "in oven"),
    (Event::Drying, "trocknung"),
    (Event::Drying, "séchage"),
];

/// Whether an event can be taken from a cell in doubt: it asks for more than no event does.
pub(super) const fn is_strict_event(event: Event) -> bool {
    matches!(event, Event::Rewound | Event::Replaced | Event::Flooded | Event::Drying)
}

/// Events that make the answer stricter, as they begin in the languages of the words above. Blanks and hyphens are left out.
const REWIND_STEMS: [&str; 12] = [
    "recoiled",
    "neuewicklung",
    "rewind",
    "rewound",
    "rewnd",
    "rewinde",
    "neuwickl",
    "neugewickelt",
    "rebobin",
    "riavvol",
    "herwikkel",
    "umgewickelt",
];
const REPLACE_STEMS: [&str; 12] = [
    "replac",
    "exchang",
    "swap",
    "renew",
    "ersetzt",
    "remplac",
    "reemplaz",
    "sostitu",
    "substitu",
    "vervang",
    "spare",
    "ausgetauscht",
];
const WHOLES: [&str; 18] = [
    "moteur",
    "motore",
    "bobinado",
    "avvolgimento",
    "stator",
    "winding",
    "windings",
    "motor",
    "machine",
    "generator",
    "armature",
    "rotor",
    "coil",
    "coils",
    "unit",
    "wdg",
    "wicklung",
    "bobinage",
];
/// Parts of a machine that are replaced without its winding, as they begin.
const PARTS: [&str; 56] = [
    "bearing",
    "seal",
    "fan",
    "heater",
    "lead",
    "cable",
    "brush",
    "gasket",
    "coupling",
    "grease",
    "oil",
    "filter",
    "sensor",
    "rtd",
    "thermistor",
    "thermocouple",
    "terminal",
    "box",
    "gland",
    "belt",
    "pulley",
    "guard",
    "capacitor",
    "breaker",
    "contactor",
    "relay",
    "lamp",
    "light",
    "valve",
    "pump",
    "impeller",
    "shaft",
    "cover",
    "bolt",
    "nameplate",
    "label",
    "battery",
    "tester",
    "lager",
    "roulement",
    "fuse",
    "vfd",
    "vsd",
    "drive",
    "inverter",
    "starter",
    "plug",
    "meter",
    "paint",
    "insulator",
    "lug",
    "key",
    "foot",
    "base",
    "encoder",
    "tacho",
];
/// Short words for work and tests that are no event.
const SHORT_REMARKS: [&str; 14] =
    ["ok", "no", "nil", "na", "pm", "ppm", "cbm", "ir", "pi", "dar", "svc", "insp", "tst", "mtce"];
/// Words whose every likeness is looked at: one letter apart, two in the longer ones.
const TARGETS: [&str; 14] = [
    "flood",
    "water",
    "hosed",
    "underwater",
    "flooded",
    "flooding",
    "submerged",
    "immersed",
    "rewound",
    "rewind",
    "rewinding",
    "replaced",
    "replacement",
    "drying",
];

/// Words of their own that are a letter away from one of them.
const NOT_MEANT: [&str; 12] =
    ["floor", "floors", "floored", "blood", "later", "wafer", "waters", "waiter", "hose", "hoses", "housed", "nosed"];

/// What a cell under `event` that is not an event may mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum MayMean {
    /// A rewind or a replacement, which owes another minimum.
    NewWinding,
    /// Anything.
    Anything,
    /// Work or a remark that is none of the events.
    Else,
}

/// What a text under `event` that is not an event may mean.
pub(super) fn may_mean(text: &str) -> MayMean {
    let typed = Typed::of(text);
    let words: Vec<&str> = typed.word.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let joined = words.concat();
    let begins = |stems: &[&str]| words.iter().any(|word| stems.iter().any(|stem| word.starts_with(stem)));
    let of_a_part = begins(&PARTS);
    let whole = words.iter().any(|word| WHOLES.contains(word));
    let rewound = REWIND_STEMS.iter().any(|stem| joined.contains(stem));
    let is_new = words.iter().any(|word| NEW_WHOLE.contains(word));
    if rewound || (whole || !of_a_part) && begins(&REPLACE_STEMS) || whole && is_new {
        return MayMean::NewWinding;
    }
    let close: Vec<&str> = words.iter().filter(|word| !WHOLES.contains(word)).filter_map(|word| nearly(word)).collect();
    let replaced = |target: &&str| target.starts_with("replac");
    if close.iter().any(|target| target.starts_with("rew") || replaced(target) && !of_a_part) {
        return MayMean::NewWinding;
    }
    let is_near = close.iter().any(|target| !replaced(target)) || tells_of_damage(&words) && !of_a_part;
    let is_legible = words.iter().any(|word| word.chars().filter(|c| c.is_alphabetic()).count() >= 4);
    let says_nothing = !words.is_empty() && words.iter().all(|word| SHORT_REMARKS.contains(word));
    if is_near || !is_legible && !says_nothing { MayMean::Anything } else { MayMean::Else }
}

/// Beside a motor or a winding, words for another one.
const NEW_WHOLE: [&str; 14] = [
    "new",
    "neue",
    "neuer",
    "nuevo",
    "nuevos",
    "nouveau",
    "nuovo",
    "novo",
    "changed",
    "getauscht",
    "cambiado",
    "cambiato",
    "trocado",
    "changé",
];
/// Words of a winding that failed, as they begin.
const DAMAGE: [&str; 27] = [
    "burn",
    "fail",
    "fault",
    "short",
    "flash",
    "damag",
    "defect",
    "smok",
    "arced",
    "arcing",
    "broke",
    "trip",
    "earthed",
    "grounded",
    "verbrannt",
    "durchgebrannt",
    "erdschluss",
    "kurzschluss",
    "schaden",
    "brûl",
    "défaut",
    "grillé",
    "quemad",
    "averi",
    "bruciat",
    "guast",
    "queimad",
];

/// Whether words mention a failure.
fn tells_of_damage(words: &[&str]) -> bool {
    words.iter().any(|word| DAMAGE.iter().any(|stem| word.starts_with(stem)))
}

/// Whether a note mentions a failed winding: that may be why there is no reading.
pub(crate) fn tells_of_a_failure(note: &str) -> bool {
    let lower = note.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    tells_of_damage(&words)
}

/// Words beside which a rewind is none, or none yet.
const NOT_REWOUND: [&str; 18] = [
    "not",
    "no",
    "never",
    "nicht",
    "kein",
    "pas",
    "non",
    "sin",
    "recommended",
    "planned",
    "plan",
    "consider",
    "due",
    "quote",
    "quoted",
    "next",
    "spare",
    "available",
];

/// Whether a note says that the winding was rewound.
pub(crate) fn tells_of_rewind(note: &str) -> bool {
    let lower = note.to_lowercase();
    lower.split(['.', ';', ',', '!', '\n']).any(|clause| {
        let words: Vec<&str> = clause.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let rewound = words.iter().any(|word| REWIND_STEMS.iter().any(|stem| word.contains(stem)));
        rewound && !words.iter().any(|word| NOT_REWOUND.contains(word))
    })
}

/// The word that another is nearly, digits read as the letters that they look like.
fn nearly(word: &str) -> Option<&'static str> {
    let letters: String = word
        .chars()
        .map(|c| match c {
            '0' => 'o',
            '1' => 'l',
            '3' => 'e',
            '5' => 's',
            c => c,
        })
        .collect();
    let allowed = |target: &str| if target.len() >= 8 { 2 } else { 1 };
    if NOT_MEANT.contains(&letters.as_str()) {
        return None;
    }
    TARGETS.into_iter().find(|target| strsim::osa_distance(&letters, target) <= allowed(target))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_may_hide_a_new_winding_are_told_from_other_work() {
        for text in [
            "rewnd",
            "stator re-wind done",
            "rewinding 2020",
            "replacd",
            "stator swapped",
            "new wdg",
            "motor exchanged in May",
            "rew0und",
            "replaced motor and bearings",
            "motor changed",
            "stator changed",
            "recoiled",
            "neue Wicklung",
            "Motor getauscht",
            "spare fitted",
            "motor cambiado",
        ] {
            assert_eq!(may_mean(text), MayMean::NewWinding, "{text}");
        }
        for text in [
            "fl00ded",
            "floded",
            "flod",
            "under watr",
            "wter in motor",
            "hosed down",
            "submerdged",
            "x",
            "1",
            "yes",
            "??",
            "dryng",
            "burnt",
            "winding damaged",
            "failed",
            "earth fault",
            "flashover",
            "shorted turns",
            "Erdschluss",
            "motor brûlé",
            "defect",
        ] {
            assert_eq!(may_mean(text), MayMean::Anything, "{text}");
        }
        for text in [
            "inspected",
            "bearing replaced",
            "new bearings fitted",
            "greased",
            "routine test",
            "floor painted",
            "retest later",
            "ok",
            "fan replaced",
            "aligned",
            "PM",
            "winding cleaned",
            "VFD replaced",
            "IR, PI",
            "bearing failed",
            "heater fault",
        ] {
            assert_eq!(may_mean(text), MayMean::Else, "{text}");
        }
    }
}
