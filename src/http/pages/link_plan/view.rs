//! A robot's link plan as it stands, and the plan a form says.

use super::edit::{Edit, as_typed};
use super::{Diagram, Duty, Fact, Gap, LinkPlan, Version};
use crate::calc::units::{ClockHour, Note};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::{bench, reader::Reader, robot_now::RobotNow, words};
use crate::pit::ids::PersonId;
use crate::pit::link_plan::{self, readers};
use crate::pit::logbook::Role;
use crate::pit::logbook::link_plan::{Plan, Reach, Reader as PlanReader};
use std::collections::BTreeSet;

/// What the plan lacks that speaks against arming, in words.
pub fn gaps(reader: &Reader, now: &RobotNow<'_>) -> Vec<Gap> {
    found(reader, now)
        .iter()
        .filter(|gap| gap.speaks_against_arming())
        .map(|gap| words_of(reader, gap))
        .collect()
}

/// Every gap of the plan now.
fn found(reader: &Reader, now: &RobotNow<'_>) -> Vec<link_plan::Gap> {
    let settings = reader.pit.settings();
    let mut gaps = link_plan::gaps(now.file, settings, &now.work.link_plan_changes);
    gaps.extend(link_plan::elsewhere(&reader.pit, now.id));
    gaps
}

/// A gap with the names of those it concerns, and what to do about it.
pub fn words_of(reader: &Reader, gap: &link_plan::Gap) -> Gap {
    use link_plan::Gap as G;
    let name = |who: &PersonId| reader.name(Some(*who));
    let title = match gap {
        G::NotReadBack(_, who) | G::HandedOver { to: who, .. } => {
            format!("{} has not read it back", name(who))
        }
        G::ProvesOwnWork(who) => format!("{} proves their own work", name(who)),
        G::Elsewhere { person, .. } => format!("{} is on another machine", name(person)),
        _ => gap.why(),
    };
    let why = match gap {
        G::NoPlan => "Where the link is, who pulls it, who looks".to_owned(),
        G::NotReadBack(duty, _) | G::HandedOver { reader: duty, .. } => {
            words::plan_reader(*duty).to_owned()
        }
        G::ProvesOwnWork(_) => {
            "Another person than the one who puts the link in looks that it is done".to_owned()
        }
        G::Elsewhere { robot, task, .. } => format!("{task}, {}", reader.robot(*robot)),
        G::OtherConfiguration | G::OlderThan(_) => "Write the plan anew".to_owned(),
        G::NotConfirmedSince(_) => "Look whether the plan still holds".to_owned(),
        G::ReachNotMeasured { .. } => "Time it with gloves on".to_owned(),
        G::IsolatorNotTaken => "The event’s officials decide".to_owned(),
        G::Empty(_)
        | G::NotSaid(_)
        | G::LinksDoNotAddUp { .. }
        | G::LinksNotListed { .. }
        | G::AnotherOrder { .. }
        | G::HatchNeedsTool
        | G::ReachOverLimit { .. } => String::new(),
    };
    Gap { title, why }
}

/// The page's view.
pub fn view(reader: &Reader, now: &RobotNow<'_>, typed: Typed) -> LinkPlan {
    let plans = &now.file.state.link_plans;
    let current = plans.current();
    let plan = current.map(|(_, sight)| &sight.value);
    let version = current.map(|(number, _)| number);
    let steps = |steps: &[Note]| steps.iter().map(ToString::to_string).collect();
    let driver = now.file.register.body.driver;
    let may_edit = matches!(reader.signed.role, Role::Crew | Role::Lead)
        && reader.sees_team(now.file.register.body.team);
    let unread = |who: &PersonId| version.is_some_and(|v| plans.read_by(v, *who).is_none());
    let deputies = plan.into_iter().flat_map(|plan| {
        [
            plan.inserter_deputy,
            plan.remover_deputy,
            plan.verifier_deputy,
        ]
    });
    let to_read: BTreeSet<PersonId> = plan
        .into_iter()
        .flat_map(|plan| readers(plan, driver))
        .map(|(_, who)| who)
        .chain(deputies.flatten())
        .chain(now.file.state.duties.values().copied())
        .filter(unread)
        .collect();
    let me = reader.signed.person;
    let chip = |(id, name): (PersonId, String)| Chip::new(id.to_string(), name);
    let mates = words::team_mates(reader, now.file.register.body.team);
    let team = reader.pit.teams.get(&now.file.register.body.team);
    let found = found(reader, now);
    let to_confirm = found
        .iter()
        .filter_map(|gap| match gap {
            link_plan::Gap::NotConfirmedSince(change) => Some(change.what.clone()),
            _ => None,
        })
        .collect();
    let not_said = found
        .iter()
        .filter_map(|gap| match gap {
            link_plan::Gap::NotSaid(field) => Some(link_plan::field_words(field).to_owned()),
            _ => None,
        })
        .collect();
    LinkPlan {
        tag: Tag {
            sub: version.map_or_else(
                || "no link plan yet".to_owned(),
                |v| format!("link plan {v}"),
            ),
            ..bench::view::tag(reader, now)
        },
        robot: reader.bench(now.id),
        photos: format!("{}/photos/robot:{}", reader.base, now.id),
        about: team.map_or_else(String::new, |team| team.body.name.to_string()),
        version: current.map(|(number, sight)| Version {
            number,
            at: sight.at,
            by: reader.name(sight.seen_by),
        }),
        gaps: gaps(reader, now),
        not_said,
        diagram: plan.and_then(diagram),
        facts: plan.map_or_else(Vec::new, |plan| facts(plan, now)),
        if_wrong: plan.map_or_else(Vec::new, if_wrong),
        links: plan.map_or_else(Vec::new, |plan| {
            let text =
                |note: &Option<Note>| note.as_ref().map_or_else(String::new, ToString::to_string);
            let row = |link: &crate::pit::logbook::link_plan::OneLink| {
                (link.mark.to_string(), text(&link.breaks), text(&link.kept))
            };
            plan.each.iter().map(row).collect()
        }),
        making_safe: plan.map_or_else(Vec::new, |plan| steps(&plan.making_safe)),
        arming: plan.map_or_else(Vec::new, |plan| steps(&plan.arming)),
        duties: plan.map_or_else(Vec::new, |plan| duties(reader, now, plan)),
        reach: reach(reader, now),
        limit: format!("{} s", reader.pit.settings().reach_limit_s.get()),
        can_read: me.is_some_and(|me| to_read.contains(&me)),
        others: mates
            .iter()
            .filter(|(id, _)| may_edit && to_read.contains(id) && me.is_some_and(|me| me != *id))
            .cloned()
            .map(chip)
            .collect(),
        people: mates.into_iter().map(chip).collect(),
        who: me.map_or_else(String::new, |me| me.to_string()),
        typed,
        to_confirm,
        may_edit,
    }
}

fn diagram(plan: &Plan) -> Option<Diagram> {
    let hour = |hour: Option<ClockHour>| hour.map(ClockHour::get);
    Some(Diagram {
        link: hour(plan.clock_upright)?,
        inverted: hour(plan.clock_inverted),
        valve: hour(plan.valve),
        gauge: hour(plan.gauge),
        stand: hour(plan.stand),
        second: hour(plan.stand_second),
        keep_out: hour(plan.keep_out_from).zip(hour(plan.keep_out_to)),
    })
}

/// Parts of a sentence that were said.
fn said(parts: impl IntoIterator<Item = Option<String>>) -> String {
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    parts.join(". ")
}

fn facts(plan: &Plan, now: &RobotNow<'_>) -> Vec<Fact> {
    let text = |note: &Option<Note>| note.as_ref().map(ToString::to_string);
    let or_not = |note: &Option<Note>| text(note).unwrap_or_else(|| "not said".to_owned());
    let clock = |before: &str, hour: Option<ClockHour>| {
        hour.map(|hour| format!("{before}{} o’clock", hour.get()))
    };
    let fact = |label, value, small| Fact {
        label,
        value,
        small,
    };
    let mut facts = vec![
        fact(
            "Link",
            or_not(&plan.place),
            said([
                clock("", plan.clock_upright),
                clock("On its back ", plan.clock_inverted),
                text(&plan.inverted),
                plan.to_wheel_mm
                    .map(|mm| format!("{} mm from the wheel", mm.get())),
                plan.to_blade_mm
                    .map(|mm| format!("{} mm from the weapon", mm.get())),
            ]),
        ),
        fact(
            "Hatch",
            or_not(&plan.hatch),
            said([
                plan.hatch_needs_tool.then(|| "Needs a tool".to_owned()),
                text(&plan.second_way),
            ]),
        ),
        fact(
            "Held by",
            or_not(&plan.retention),
            said([
                text(&plan.pull),
                plan.pull_n.map(|pull| format!("{} N", pull.get())),
            ]),
        ),
        fact(
            "Dead when",
            or_not(&plan.dead_when),
            said([
                plan.wait_s
                    .map(|wait| format!("Then wait {} s", wait.get())),
                text(&plan.meter),
            ]),
        ),
        fact(
            "Links",
            plan.links
                .map_or_else(|| "not said".to_owned(), |n| n.get().to_string()),
            said([text(&plan.spare).map(|at| format!("Spare: {at}"))]),
        ),
        fact(
            "Stand",
            said([
                clock("1 at ", plan.stand),
                clock("2 at ", plan.stand_second),
                text(&plan.stand_off),
            ]),
            said([text(&plan.verifier_sees).map(|sees| format!("Second person sees: {sees}"))]),
        ),
    ];
    if now.file.register.body.machine.has_gas() {
        facts.push(fact(
            "Gas",
            said([
                clock("Valve ", plan.valve),
                text(&plan.valve_tool),
                clock("Gauge and dump ", plan.gauge),
            ]),
            said([plan
                .vents_only_live
                .then(|| "Vents only while the link is in: tell the marshal first".to_owned())]),
        ));
    }
    facts.push(fact(
        "Not in it",
        said([text(&plan.excused)]),
        String::new(),
    ));
    facts.retain(|fact| !fact.value.is_empty());
    facts
}

fn if_wrong(plan: &Plan) -> Vec<Fact> {
    [
        ("Smoke or fire", &plan.if_fire),
        ("Link jammed", &plan.if_jammed),
        ("Still moves", &plan.if_moving),
        ("Bottle not shut", &plan.if_not_shut),
        ("Hang together", &plan.if_locked),
    ]
    .into_iter()
    .filter_map(|(label, note)| {
        Some(Fact {
            label,
            value: note.as_ref()?.to_string(),
            small: String::new(),
        })
    })
    .collect()
}

fn duties(reader: &Reader, now: &RobotNow<'_>, plan: &Plan) -> Vec<Duty> {
    let plans = &now.file.state.link_plans;
    let version = plans.current().map_or(0, |(version, _)| version);
    let duty = |duty, who: PersonId, deputy: Option<PersonId>| Duty {
        duty,
        who: reader.name(Some(who)),
        deputy: deputy.map_or_else(String::new, |who| reader.name(Some(who))),
        read: plans.read_by(version, who).map(|sight| sight.at),
        named_by: plans.named_by(version, who).map(|by| reader.name(Some(by))),
    };
    let deputy = |of: PlanReader| match of {
        PlanReader::Inserter => plan.inserter_deputy,
        PlanReader::Remover => plan.remover_deputy,
        PlanReader::Verifier => plan.verifier_deputy,
        PlanReader::Driver => None,
    };
    let holder = plan
        .holder
        .map(|who| duty("Holder", who, plan.holder_deputy));
    let named = readers(plan, now.file.register.body.driver)
        .into_iter()
        .map(|(of, who)| duty(words::plan_reader(of), who, deputy(of)));
    holder.into_iter().chain(named).collect()
}

fn reach(reader: &Reader, now: &RobotNow<'_>) -> Vec<(&'static str, String, String)> {
    let plans = &now.file.state.link_plans;
    let Some((_, saved)) = plans.current() else {
        return Vec::new();
    };
    [
        ("Upright", Reach::Upright),
        ("Inverted", Reach::Inverted),
        ("Hatch bent", Reach::HatchBent),
    ]
    .map(|(lies, reach)| {
        let time = plans
            .reach(reach)
            .map_or_else(|| "not measured".to_owned(), |s| format!("{} s", s.get()));
        let timed = plans.timed.get(&reach).filter(|timed| timed.at >= saved.at);
        let who = timed.map_or_else(String::new, |timed| reader.name(timed.seen_by));
        (lies, time, who)
    })
    .to_vec()
}

/// The form's view: what stands, or a first draft for the type of machine.
pub fn edit(reader: &Reader, now: &RobotNow<'_>, typed: Option<Typed>) -> Edit {
    let standing = now
        .file
        .state
        .link_plans
        .current()
        .map(|(_, sight)| sight.value.clone());
    let machine = now.file.register.body.machine;
    let plan = standing.unwrap_or_else(|| Plan {
        configuration: now.file.register.body.configuration.clone(),
        ..link_plan::draft(machine, reader.pit.settings())
    });
    let team = now.file.register.body.team;
    Edit {
        tag: Tag {
            name: "Link plan".to_owned(),
            sub: now.file.register.body.name.to_string(),
            href: None,
            ..bench::view::tag(reader, now)
        },
        robot: reader.bench(now.id),
        plan: typed.unwrap_or_else(|| as_typed(&plan)),
        people: words::team_mates(reader, team)
            .into_iter()
            .map(|(id, name)| Chip::new(id.to_string(), name))
            .collect(),
        gas: machine.has_gas(),
    }
}
