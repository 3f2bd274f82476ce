//! The link plan as a form on one screen, and the plan it says.

use crate::calc::units::{ClockHour, Count, Distance, Name, Note, Pull, Seconds};
use crate::http::pages::form::Fields;
use crate::http::pages::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use crate::pit::logbook::link_plan::{OneLink, Plan};
use maud::{Markup, html};

/// Fields of the same type: how each is read from a plan and put into one.
macro_rules! fields_of {
    ($all:ident, $put:ident, $type:ty: $($name:ident),* $(,)?) => {
        fn $all(plan: &Plan) -> Vec<(&'static str, Option<&$type>)> {
            vec![$((stringify!($name), plan.$name.as_ref()),)*]
        }

        fn $put(plan: &mut Plan, mut read: impl FnMut(&str) -> Option<$type>) {
            $(plan.$name = read(stringify!($name));)*
        }
    };
}

fields_of!(notes, put_notes, Note:
    place, hatch, retention, spare, dead_when, inverted, second_way, pull, meter, verifier_sees,
    excused, stand_off, valve_tool, if_not_shut, if_jammed, if_moving, if_fire, if_locked);
fields_of!(people, put_people, crate::pit::ids::PersonId:
    holder, inserter, remover, verifier,
    holder_deputy, inserter_deputy, remover_deputy, verifier_deputy);
fields_of!(hours, put_hours, ClockHour:
    clock_upright, clock_inverted, stand, stand_second, keep_out_from, keep_out_to, valve, gauge);
fields_of!(times, put_times, Seconds:
    reach_upright_s, reach_inverted_s, reach_hatch_bent_s, wait_s);

/// Steps of one order at most.
const MOST_STEPS: usize = 20;
/// Links of one machine at most.
const MOST_LINKS: usize = 12;

/// The plan as a form.
#[derive(Debug)]
pub struct Edit {
    /// The robot.
    pub tag: Tag,
    /// The robot's address.
    pub robot: String,
    /// What stands, by field; steps and links one a line.
    pub plan: Typed,
    /// The team's people.
    pub people: Vec<Chip>,
    /// The machine has gas.
    pub gas: bool,
}

/// The one-screen form.
pub fn edit(frame: &Frame, view: &Edit) -> Markup {
    let back = format!("{}/plan", view.robot);
    let typed = &view.plan;
    let text = |name: &'static str, label: &'static str, hint: &'static str| {
        Text {
            hint,
            ..Text::new(name, label)
        }
        .show(typed)
    };
    let number = |name: &'static str, label: &'static str, unit: &'static str| {
        Text {
            kind: "number",
            unit,
            ..Text::new(name, label)
        }
        .show(typed)
    };
    let clock = |name: &'static str, label: &'static str| number(name, label, "o’clock");
    let who = |name: &str, label: &str| {
        fields::select(name, label, "", "nobody yet", &view.people, typed)
    };
    let yes = |name: &str, label: &str| {
        fields::chips(
            name,
            label,
            "no",
            &[Chip::new("no", "No"), Chip::new("yes", "Yes")],
            typed,
        )
    };
    frame::sheet(
        frame,
        &format!("Change the link plan: {}", view.tag.name),
        &view.tag,
        &back,
        html! {
            (fields::post(frame, &format!("{back}/edit"), "sheetform", html! {
                main.wrap #main {
                    (typed.summary())
                    section.panel.stackform { h2 { "Where it is" }
                        (text("configuration", "Configuration", "The lid or weapon this plan is for."))
                        (text("place", "Place of the link", "As you would tell a stranger."))
                        (clock("clock_upright", "By the clock, weapon towards 12")) (clock("clock_inverted", "On its back")) (text("inverted", "How it is reached then", ""))
                        (number("to_wheel_mm", "To the nearest wheel", "mm")) (number("to_blade_mm", "To the weapon", "mm"))
                        (text("hatch", "Hatch", "How it opens, with which hand.")) (yes("hatch_needs_tool", "The hatch needs a tool")) (text("second_way", "Another way in, if it is bent", ""))
                        (text("retention", "What keeps the link in", "")) (text("pull", "Which way to pull", "")) (number("pull_n", "How hard", "N"))
                        (text("dead_when", "Dead when", "Which light goes dark, where it is.")) (number("wait_s", "Then wait", "s")) (text("meter", "Meter points", ""))
                        (number("links", "Links, spare included", "links")) (lines("each", "Each link, one a line", "L1 | breaks drive and weapon, 300 A | Ben’s hand", typed)) (text("spare", "Where the spare is", ""))
                    }
                    section.panel.stackform { h2 { "Who" }
                        (who("holder", "Holds it between bouts")) (who("holder_deputy", "Deputy: holds it"))
                        (who("inserter", "Puts it in")) (who("inserter_deputy", "Deputy: puts it in"))
                        (who("remover", "Takes it out")) (who("remover_deputy", "Deputy: takes it out"))
                        (who("verifier", "Looks that it is done: another person")) (who("verifier_deputy", "Deputy: looks"))
                        (text("verifier_sees", "What the second person has to see", "")) (text("excused", "Who has no part in it", ""))
                    }
                    section.panel.stackform { h2 { "Where to stand" }
                        (clock("stand", "Whoever acts")) (clock("stand_second", "Second person")) (text("stand_off", "Side, distance, reach tool", "Never in the arc. To begin with: the arm’s arc and 1 m, tool at least 0.5 m."))
                        (clock("keep_out_from", "Keep out from")) (clock("keep_out_to", "to, clockwise"))
                    }
                    @if view.gas { section.panel.stackform { h2 { "Gas" }
                        (clock("valve", "Bottle valve")) (text("valve_tool", "What turns it", "")) (clock("gauge", "Gauge and dump"))
                        (text("if_not_shut", "If the bottle cannot be shut", "")) (yes("vents_only_live", "It vents only while the link is in"))
                    } }
                    section.panel.stackform { h2 { "Steps " span.meta { "one a line; after “ | ” who, where, which hand" } }
                        (lines("making_safe", "Making safe", "", typed)) (lines("arming", "Arming", "", typed))
                    }
                    section.panel.stackform { h2 { "When it goes wrong" }
                        (text("if_jammed", "Hatch blocked, link jammed", "")) (text("if_moving", "Still drives or turns", "")) (text("if_fire", "Smoke or fire", "")) (text("if_locked", "Two machines hang together", ""))
                    }
                    section.panel.stackform { h2 { "Reach time, gloves on" }
                        (number("reach_upright_s", "Upright", "s")) (number("reach_inverted_s", "Inverted", "s")) (number("reach_hatch_bent_s", "Hatch bent", "s"))
                    }
                    (frame::caution())
                }
                footer.sheetfoot { button.btn.big.solid { "Save as a new version" small { "everybody named reads it back again" } } div.row { a.btn.soft.grow href=(back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

fn lines(name: &str, label: &str, hint: &str, typed: &Typed) -> Markup {
    let fault = typed.fault(name);
    html! {
        div.field { label for=(name) { (label) }
            textarea id=(name) name=(name) rows="6" aria-invalid=[fault.map(|_| "true")] { (typed.or(name, "")) }
            @if let Some(fault) = fault { p.fault { (fault) } }
            @if !hint.is_empty() { p.meta { (hint) } } }
    }
}

/// What stands in a plan, as its form shows it.
pub fn as_typed(plan: &Plan) -> Typed {
    let mut typed = Typed::default();
    let mut put = |name: &str, value: Option<String>| {
        typed
            .values
            .extend(value.map(|value| (name.to_owned(), value)));
    };
    for (name, note) in notes(plan) {
        put(name, note.map(ToString::to_string));
    }
    for (name, person) in people(plan) {
        put(name, person.map(ToString::to_string));
    }
    for (name, hour) in hours(plan) {
        put(name, hour.map(|hour| hour.get().to_string()));
    }
    for (name, time) in times(plan) {
        put(name, time.map(|time| time.get().to_string()));
    }
    let text = |number: i32| number.to_string();
    put(
        "configuration",
        plan.configuration.as_ref().map(ToString::to_string),
    );
    put("links", plan.links.map(|n| text(n.get())));
    put("to_wheel_mm", plan.to_wheel_mm.map(|n| text(n.get())));
    put("to_blade_mm", plan.to_blade_mm.map(|n| text(n.get())));
    put("pull_n", plan.pull_n.map(|n| text(n.get())));
    let yes = |is: bool| is.then(|| "yes".to_owned());
    put("hatch_needs_tool", yes(plan.hatch_needs_tool));
    put("vents_only_live", yes(plan.vents_only_live));
    let steps = |steps: &[Note]| {
        let steps: Vec<&str> = steps.iter().map(Note::as_str).collect();
        Some(steps.join("\n"))
    };
    put("arming", steps(&plan.arming));
    put("making_safe", steps(&plan.making_safe));
    let each: Vec<String> = plan.each.iter().map(link_line).collect();
    put("each", Some(each.join("\n")));
    typed
}

fn link_line(link: &OneLink) -> String {
    let part = |note: &Option<Note>| note.as_ref().map_or("", Note::as_str).to_owned();
    let parts = [link.mark.to_string(), part(&link.breaks), part(&link.kept)];
    parts.join(" | ").trim_end_matches([' ', '|']).to_owned()
}

/// The plan a form says.
///
/// # Errors
/// What is wrong, by field, with what was typed.
pub fn read(fields: &Fields) -> Result<Plan, Typed> {
    let mut typed = fields.typed();
    let faults = &mut typed.faults;
    let mut plan = Plan::default();
    put_notes(&mut plan, |name| {
        Note::new(fields.filled(name)?)
            .map_err(|why| faults.insert(name.to_owned(), why))
            .ok()
    });
    put_people(&mut plan, |name| fields.id(name));
    let mut whole = |name: &str, what: &str, least: i32, most: i32| -> Option<i64> {
        let value = fields.filled(name)?.parse::<i64>().ok();
        let value = value.filter(|value| (i64::from(least)..=i64::from(most)).contains(value));
        if value.is_none() {
            let why = format!("A whole number of {what}, from {least} to {most}.");
            faults.insert(name.to_owned(), why);
        }
        value
    };
    put_hours(&mut plan, |name| {
        whole(name, "hours", ClockHour::MIN, ClockHour::MAX).and_then(ClockHour::new)
    });
    put_times(&mut plan, |name| {
        whole(name, "seconds", Seconds::MIN, Seconds::MAX).and_then(Seconds::new)
    });
    plan.links = whole("links", "links", Count::MIN, Count::MAX).and_then(Count::new);
    let mut way =
        |name: &str| whole(name, "mm", Distance::MIN, Distance::MAX).and_then(Distance::new);
    (plan.to_wheel_mm, plan.to_blade_mm) = (way("to_wheel_mm"), way("to_blade_mm"));
    plan.pull_n = whole("pull_n", "N", Pull::MIN, Pull::MAX).and_then(Pull::new);
    plan.configuration = fields.filled("configuration").and_then(|text| {
        Name::new(text)
            .map_err(|why| faults.insert("configuration".to_owned(), why))
            .ok()
    });
    let yes = |name: &str| fields.get(name) == Some("yes");
    (plan.hatch_needs_tool, plan.vents_only_live) =
        (yes("hatch_needs_tool"), yes("vents_only_live"));
    let rows = |name: &str| -> Vec<&str> {
        let text = fields.get(name).unwrap_or_default();
        text.lines()
            .map(str::trim)
            .filter(|row| !row.is_empty())
            .collect()
    };
    let mut steps = |name: &str| -> Vec<Note> {
        let rows = rows(name);
        if rows.len() > MOST_STEPS {
            faults.insert(name.to_owned(), format!("At most {MOST_STEPS} steps."));
        }
        rows.into_iter()
            .filter_map(|row| {
                Note::new(row)
                    .map_err(|why| faults.insert(name.to_owned(), why))
                    .ok()
            })
            .collect()
    };
    (plan.arming, plan.making_safe) = (steps("arming"), steps("making_safe"));
    let each = rows("each");
    if each.len() > MOST_LINKS {
        faults.insert("each".to_owned(), format!("At most {MOST_LINKS} links."));
    }
    plan.each = each
        .into_iter()
        .filter_map(|row| {
            one_link(row)
                .map_err(|why| faults.insert("each".to_owned(), why))
                .ok()
        })
        .collect();
    if typed.is_sound() {
        Ok(plan)
    } else {
        Err(typed)
    }
}

fn one_link(row: &str) -> Result<OneLink, String> {
    let mut parts = row.splitn(3, '|').map(str::trim);
    let mark = Name::new(parts.next().unwrap_or_default())?;
    let mut note = || match parts.next() {
        Some(part) if !part.is_empty() => Note::new(part).map(Some),
        _ => Ok(None),
    };
    Ok(OneLink {
        mark,
        breaks: note()?,
        kept: note()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_the_form_shows_is_what_it_says() {
        let plan: Plan = serde_json::from_value(json!({
            "configuration": "lid B", "place": "rear right", "retention": "strap", "links": 3,
            "each": [{"mark": "L1", "breaks": "drive", "kept": "Ben"}, {"mark": "L2", "kept": "box"}, {"mark": "L3"}],
            "holder": "00000000-0000-0000-0000-00000000000b", "clock_upright": 5, "keep_out_from": 11, "keep_out_to": 1,
            "to_wheel_mm": 340, "pull_n": 60, "wait_s": 10, "hatch_needs_tool": true,
            "arming": ["Link in | Ben, stand 1"], "making_safe": ["Bar on", "Link out"], "reach_upright_s": 11
        }))
        .unwrap();
        let fields = Fields(as_typed(&plan).values.into_iter().collect());
        assert_eq!(read(&fields).unwrap(), plan);
    }

    #[test]
    fn every_fault_stands_beside_its_field_and_what_was_typed_is_kept() {
        let typed = |name: &str, value: &str| (name.to_owned(), value.to_owned());
        let fields = Fields(vec![
            typed("clock_upright", "13"),
            typed("reach_upright_s", "soon"),
            typed("each", "| no mark"),
            typed("place", "rear"),
        ]);
        let refused = read(&fields).unwrap_err();
        let faults: Vec<&str> = refused.faults.keys().map(String::as_str).collect();
        assert_eq!(faults, ["clock_upright", "each", "reach_upright_s"]);
        assert_eq!(refused.values["place"], "rear");
    }
}
