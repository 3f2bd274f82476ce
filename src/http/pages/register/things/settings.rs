//! The rules of an event as a form: each with what others have, and where that stands.

use super::specs::{Spec, Take, may};

/// A group of rules.
pub struct Group {
    /// Its heading.
    pub title: &'static str,
    /// Its rules.
    pub rules: &'static [Rule],
}

/// A rule.
pub struct Rule {
    /// Its field in the settings, with `settings/` before it.
    pub at: &'static str,
    /// Its label.
    pub label: &'static str,
    /// How it is typed.
    pub take: Take,
    /// Values found, each with the id of its source.
    pub found: &'static str,
}

const fn rule(at: &'static str, label: &'static str, take: Take, found: &'static str) -> Rule {
    Rule {
        at,
        label,
        take,
        found,
    }
}

const MIN: Take = Take::Number("min", 1);
const S: Take = Take::Number("s", 1);
const COUNT: Take = Take::Number("", 1);
const PERCENT: Take = Take::Number("%", 1);
const KG: Take = Take::Number("kg", 1000);
const G: Take = Take::Number("g", 1);

/// Every rule, in groups.
#[rustfmt::skip]
pub const GROUPS: &[Group] = &[
    Group { title: "Arming and making safe", rules: &[
        rule("settings/reach_limit_s", "Time to reach the link and make it dead", S, "15 s (R4), 45 s (R5), 60 s (R5 later copy, R20)"),
        rule("settings/reach_inverted", "Also when it lies on its back", Take::Flag, ""),
        rule("settings/reach_is_condition", "A longer time holds the machine", Take::Flag, "a condition (R4); else a warning"),
        rule("settings/arming_people", "People inside while arming", COUNT, "operator and one assistant (R17)"),
        rule("settings/isolator", "What may break the main power", Take::Of(&[("link", "link"), ("link_or_named_switch", "link or a named switch"), ("link_or_switch", "link or switch")]), "link only (R8); named switches for 1.5 kg (R15)"),
        rule("settings/clamp_as_restraint", "A clamp counts as weapon bar", Take::Flag, "no (R14); yes in a beginner’s guide"),
        rule("settings/bar_off", "The weapon bar comes off", Take::Of(&[("before_gas", "before the gas"), ("after_gas", "after the gas, last")]), "either (F1); on during power-up (R4, R7); last (R1)"),
        rule("settings/arm_at_rest", "A lifting arm rests", Take::Of(&[("down", "locked down"), ("up", "propped up")]), "down; up when the ram could tear the chassis (F1, F3)"),
        rule("settings/transmitter_on", "The transmitter comes on", Take::Of(&[("before_power", "before the main power"), ("after_people_are_out", "once nobody is inside")]), "before main power (R1); off while people are inside (F22)"),
        rule("settings/aim", "While arming the weapon looks", Take::Of(&[("away_from_people", "away from people"), ("far_wall", "at the far wall")]), "both (R1)"),
        rule("settings/bottle_in_at", "The bottle goes in", Take::Of(&[("bench", "on the bench"), ("queue", "in the arena queue"), ("arena", "in the arena")]), ""),
    ] },
    Group { title: "Charging", rules: &[
        rule("settings/charging_at", "Packs are charged", Take::Of(&[("bench", "on the bench"), ("area", "in their area"), ("staffed_table", "at a staffed table"), ("outside", "outside"), ("swap_desk", "never here: swap desk")]), "own table (F5), designated area (R19), outside (G13), swap desk (R21)"),
        rule("settings/charging_watch", "Who watches", Take::Of(&[("team", "the team"), ("staff", "the event’s staff")]), "never unwatched (R12, R13, R18, R19); by whom differs (F5)"),
        rule("settings/charges_per_watcher", "Charges one person may watch", COUNT, "none found: own starting value"),
        rule("settings/charge_sight_min", "Not looked at for this long is unwatched", MIN, "none found: own starting value"),
        rule("settings/watcher_may_work", "A watcher may work within sight", Take::Flag, "none found: for small teams"),
        rule("settings/unwatched_min", "An unwatched charge has to stop after", MIN, "none found: own starting value"),
        rule("settings/hot_work_by_charging", "Hot work is done beside it", Take::Flag, ""),
        rule("settings/pack_difference_mv", "Packs of one string differ by no more than", Take::Number("mV a cell", 1), "none found: own starting value"),
        rule("settings/observation_min", "A suspect pack is watched", MIN, "10 to 15 min (club pages), at least 20 min (F15); more by own policy"),
        rule("settings/continuous_percent", "Planned with of a breaker or lead", PERCENT, "80 % (NEC 210.20(A)); no such rule in the United Kingdom"),
        rule("settings/burning_pack", "A burning pack, in the fire service’s words", Take::Text, "salt water (R19), dry sand (R18), plenty of water: unsettled"),
        rule("settings/channels", "Channels of a team that registered none", COUNT, ""),
    ] },
    Group { title: "Gas", rules: &[
        rule("settings/gas_allowed", "Gas is allowed", Take::Flag, "banned at some small-class events (R4, R12)"),
        rule("settings/bottle_retest_years", "Years between two tests of a bottle", COUNT, "5 (G10, US); countries differ"),
        rule("settings/gas_room_m3", "Bottles are filled in a room of", Take::Number("m³", 1), "1 kg fills 0.55 m³ (G8); empty in the open or in a hall"),
        rule("settings/hall_c", "It is this warm in the hall", Take::Number("°C", 1), "none found: own starting value"),
        rule("settings/gas_scale_uncertainty_g", "The scale for bottles may be off by", G, "none found: own starting value"),
        rule("settings/gas_limit_mbar_gauge", "Highest pressure behind the regulator", Take::Number("bar", 1000), "69 bar (R9), 7 bar for 150 g (R13), 3.4 bar for unrated parts"),
    ] },
    Group { title: "Time", rules: &[
        rule("settings/turnaround_min", "Between two bouts of a robot", MIN, "20 min (R18, R23), 40 min (R17)"),
        rule("settings/weighing_counts", "Weighing again counts in it", Take::Flag, "no (R2)"),
        rule("settings/report_ahead_bouts", "A crew reports so many bouts ahead", COUNT, "two (R12)"),
        rule("settings/staging_min", "A crew stands at the arena before its bout", MIN, "3 min (R21)"),
        rule("settings/called_before_min", "A robot counts as called before its call", MIN, ""),
        rule("settings/postponements", "Postponements in a day", COUNT, "one (R16)"),
        rule("settings/postponement_min", "How long each", MIN, "up to 20 min (R16)"),
        rule("settings/late", "A robot that is late", Take::Of(&[("organiser_decides", "the organiser decides"), ("loses", "loses")]), "it loses (R17, R23), or may (R16)"),
        rule("settings/arena_gap_min", "Resetting the arena between two bouts", MIN, "none found: own starting value"),
        rule("settings/late_allowed_min", "Not late within", MIN, "2 min (R24, without combat)"),
        rule("settings/tight_min", "A forecast is tight below", MIN, ""),
        rule("settings/bout_min", "A bout with placing and making safe", MIN, ""),
        rule("settings/lent_hands", "Hands the hall lends at once", COUNT, ""),
    ] },
    Group { title: "Weight", rules: &[
        rule("settings/heavyweight_limit_g", "Heavyweights", KG, "99.8, 100, 110, 113.4 kg (R2)"),
        rule("settings/small_limit_g", "Small machines", KG, "1.36 kg (R2), 1.5 kg (R11, R15)"),
        rule("settings/gas_in_weight", "Gas counts in the weight", Take::Flag, "yes (R11, R12, R13, R15)"),
        rule("settings/scale_uncertainty_g", "The scale may be off by", G, ""),
        rule("settings/reweigh", "Changes ask for the scale again", Take::Flag, "yes (R2, R11, R12)"),
        rule("settings/reinspect", "Changes ask for the inspector again", Take::Flag, "at random (R12); yes (R22, without combat)"),
        rule("settings/over_weight_percent", "Over by no more than this: mend it before the next bout", PERCENT, "5 % (R2), none (R11)"),
    ] },
    Group { title: "How long a sight is good, and doubt", rules: &[
        rule("settings/stale_bench_min", "On the bench", MIN, ""),
        rule("settings/stale_queue_min", "In the arena queue", MIN, ""),
        rule("settings/stale_test_area_min", "In the test area", MIN, ""),
        rule("settings/stale_arming_min", "While arming", MIN, ""),
        rule("settings/stale_elsewhere_min", "Elsewhere", MIN, ""),
        rule("settings/stale_removed_min", "Of what is out of the machine", MIN, ""),
        rule("settings/dispute_s", "Two sights that differ within this are a dispute", S, ""),
        rule("settings/clock_doubtful_s", "A phone’s clock is doubtful beyond", S, ""),
        rule("settings/withdraw_s", "A mis-tap can be withdrawn within", S, ""),
        rule("settings/no_word_min", "No word from a team after", MIN, ""),
    ] },
];

/// What the ids stand for.
pub const SOURCES: &[(&str, &str)] = &[
    ("R1", "published match rules, most recent copies"),
    (
        "R2",
        "tournament procedures 1.1: classes, weighing, time between matches",
    ),
    ("R4", "construction specifications of a 150 g club, 2026"),
    (
        "R5",
        "technical regulations, 2003 and a later regional copy",
    ),
    ("R7", "weapon restraint rules as quoted by members"),
    ("R8", "build rules 2022, rule on links"),
    ("R9", "heavyweight regulations, about 2000"),
    ("R11", "beetleweight league rules of a university"),
    ("R12", "150 g club rules, Netherlands"),
    ("R13", "antweight rules, Italy"),
    ("R14", "club rule on locking bars"),
    ("R15", "home checklist of a club, 2024 and 2025"),
    ("R16", "event match rules, July 2024"),
    ("R17", "1.5 and 5.5 kg event rules, Greece"),
    (
        "R18",
        "builder guides of a league: spares, repair time, packs",
    ),
    ("R19", "tournament rules about 2011, section on packs"),
    ("R20", "inspection list of an event, 2016"),
    ("R21", "runbook of a school contest without combat"),
    ("R23", "league event rules, 2021"),
    (
        "R24",
        "game rule on match start of a school contest without combat, 2025",
    ),
    ("F1", "members on arming with locking bars, 2013"),
    ("F3", "members on a flipper that misfired"),
    ("F5", "members on who answers for a charging table, 2013"),
    ("F15", "model forums: packs watched after an impact"),
    ("F22", "community pages on radios"),
    ("G13", "pack rules of a hobby contest"),
    (
        "R6",
        "safety notices on power lights and tethers, 2003 and 2004",
    ),
    ("R10", "build rules of one event, about 2015"),
    (
        "R22",
        "inspection rule of a school contest without combat, 2025",
    ),
    ("RM1", "a gas chapter from memory, not checked"),
    (
        "F2",
        "an arena marshal on reaching the link and pinning first",
    ),
    ("F4", "members on links in full-body and shell spinners"),
    ("F14", "model boats: a charge nobody watched, and the fire"),
    ("F18", "model aircraft: a plug is a sign, not a proof"),
    ("F19", "a long-time judge: finish before you come"),
    ("F24", "an account of a stick that was moved, and a cut"),
    ("F25", "a competitor on a bench check that fired an axe"),
    ("F26", "a builder on a machine left powered at the bench"),
    (
        "F13",
        "a safety officer on packs and chargers that fall back, 2013",
    ),
    ("G1", "29 CFR 1910.147(d): the sequence of energy isolation"),
    ("G3", "ISO 14118:2017: unexpected start-up, its scope"),
    ("G4", "guidance on lifting in a team, as quoted"),
    ("G5", "public answers on manual handling"),
    (
        "G7",
        "guidance on gas cylinders, as restated by a university",
    ),
    ("G8", "limits of carbon dioxide in air: 8 h and 15 min"),
    ("G9", "abstracts of practices for filling small cylinders"),
    ("G10", "a fill manual: date, rating, mass"),
    ("G15", "a note on the balance of cells"),
    ("G16", "a lesson on pressure: off does not mean safe"),
    ("P", "this tool’s own"),
];

/// Every rule as a field of the form.
pub fn specs() -> Vec<Spec> {
    let rules = GROUPS.iter().flat_map(|group| group.rules);
    rules
        .map(|rule| may(rule.at, rule.label, rule.take))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::settings::Settings;
    use std::collections::BTreeSet;

    #[test]
    fn every_setting_has_one_field() {
        let mut settings = serde_json::to_value(Settings::default()).unwrap();
        let object = settings.as_object_mut().unwrap();
        // Those that are none by default are left out of the body.
        object.insert("burning_pack".to_owned(), "".into());
        object.insert("gas_limit_mbar_gauge".to_owned(), 0.into());
        object.insert("gas_room_m3".to_owned(), 0.into());
        let known: BTreeSet<String> = object.keys().map(|key| format!("settings/{key}")).collect();
        let fields: Vec<String> = specs().iter().map(|spec| spec.at.to_owned()).collect();
        assert_eq!(fields.len(), known.len());
        assert_eq!(fields.into_iter().collect::<BTreeSet<_>>(), known);
    }

    #[test]
    fn every_source_of_a_hazard_rule_is_explained() {
        for rule in crate::pit::hazards::Rule::all() {
            for id in rule.basis() {
                let known = SOURCES.iter().any(|(known, _)| known == id);
                assert!(known, "{} names {id}", rule.id());
            }
            for setting in rule.settings() {
                let at = format!("settings/{setting}");
                assert!(
                    specs().iter().any(|spec| spec.at == at),
                    "{} names {setting}",
                    rule.id()
                );
            }
        }
    }

    #[test]
    fn every_source_named_is_explained() {
        for rule in GROUPS.iter().flat_map(|group| group.rules) {
            for word in rule.found.split(|c: char| !c.is_alphanumeric()) {
                let id = word.starts_with(['R', 'F', 'G'])
                    && word.len() > 1
                    && word[1..].bytes().all(|b| b.is_ascii_digit());
                assert!(
                    !id || SOURCES.iter().any(|(known, _)| *known == word),
                    "{word}"
                );
            }
        }
    }
}
