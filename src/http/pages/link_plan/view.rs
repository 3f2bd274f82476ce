//! A robot's link plan as it stands, and the plan a form says.

use super::{Duty, Edit, Gap, LinkPlan, Version};
use crate::calc::units::{Count, Name, Note, Seconds};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::{bench, form::Fields, reader::Reader, robot_now::RobotNow, words};
use crate::pit::ids::PersonId;
use crate::pit::link_plan::{self, readers};
use crate::pit::logbook::Role;
use crate::pit::logbook::link_plan::Plan;
use std::collections::BTreeSet;

/// What the plan lacks, in words.
pub fn gaps(reader: &Reader, now: &RobotNow<'_>) -> Vec<Gap> {
    link_plan::gaps(now.file, reader.pit.settings(), &now.work.link_plan_changes)
        .iter()
        .map(|gap| words_of(reader, gap))
        .collect()
}

fn words_of(reader: &Reader, gap: &link_plan::Gap) -> Gap {
    use link_plan::Gap as G;
    let (title, why) = match gap {
        G::NoPlan => (
            "There is no link plan".to_owned(),
            "Where the link is, who pulls it, who looks".to_owned(),
        ),
        G::Empty(field) => (format!("Missing: {}", field_words(field)), String::new()),
        G::OtherConfiguration => (
            "Written for another configuration".to_owned(),
            String::new(),
        ),
        G::OlderThan(change) => (
            format!("Changed since: {}", change.what),
            "Write the plan anew".to_owned(),
        ),
        G::NotConfirmedSince(change) => (
            format!("Changed since: {}", change.what),
            "Look whether the plan still holds".to_owned(),
        ),
        G::NotReadBack(duty, who) => (
            format!("{} has not read it back", reader.name(Some(*who))),
            words::plan_reader(*duty).to_owned(),
        ),
        G::ProvesOwnWork(who) => (
            format!("{} proves their own work", reader.name(Some(*who))),
            "Another person than the one who puts the link in looks that it is done".to_owned(),
        ),
        G::LinksDoNotAddUp { counted, fitted } => (
            format!("{counted} links counted, the machine has {fitted}"),
            String::new(),
        ),
        G::ReachNotMeasured { inverted } => (
            format!(
                "Reach time {} is missing",
                if *inverted { "inverted" } else { "upright" }
            ),
            "Time it with gloves on".to_owned(),
        ),
        G::ReachOverLimit {
            inverted,
            seconds,
            limit,
        } => (
            format!(
                "Reach time {} is {seconds} s",
                if *inverted { "inverted" } else { "upright" }
            ),
            format!("Event limit {limit} s"),
        ),
    };
    Gap { title, why }
}

fn field_words(field: &str) -> &str {
    match field {
        "place" => "where the link is",
        "links" => "how many links there are",
        "holder" => "who holds it",
        "inserter" => "who puts it in",
        "remover" => "who takes it out",
        "verifier" => "who looks that it is done",
        "retention" => "what keeps it in",
        "arming" => "steps of arming",
        "making_safe" => "steps of making safe",
        other => other,
    }
}

/// The page's view.
pub fn view(reader: &Reader, now: &RobotNow<'_>, typed: Typed) -> LinkPlan {
    let plans = &now.file.state.link_plans;
    let current = plans.current();
    let plan = current.map(|(_, sight)| &sight.value);
    let version = current.map(|(number, _)| number);
    let note = |note: &Option<Note>| {
        note.as_ref()
            .map_or_else(|| "not said".to_owned(), ToString::to_string)
    };
    let seconds = |s: Option<Seconds>| {
        s.map_or_else(|| "not measured".to_owned(), |s| format!("{} s", s.get()))
    };
    let steps = |steps: &[Note]| steps.iter().map(ToString::to_string).collect();
    let read = |who| {
        version
            .and_then(|version| plans.read_by(version, who))
            .map(|sight| sight.at)
    };
    let named = |who| {
        let by = version.and_then(|version| plans.named_by(version, who))?;
        Some(reader.name(Some(by)))
    };
    let driver = now.file.register.body.driver;
    let mut duties: Vec<Duty> = Vec::new();
    if let Some(holder) = plan.and_then(|plan| plan.holder) {
        duties.push(Duty {
            duty: "Holder",
            who: reader.name(Some(holder)),
            read: read(holder),
            named_by: named(holder),
        });
    }
    duties.extend(
        plan.into_iter()
            .flat_map(|plan| readers(plan, driver))
            .map(|(duty, who)| Duty {
                duty: words::plan_reader(duty),
                who: reader.name(Some(who)),
                read: read(who),
                named_by: named(who),
            }),
    );
    let may_edit = matches!(reader.signed.role, Role::Crew | Role::Lead)
        && reader.sees_team(now.file.register.body.team);
    let to_read: BTreeSet<PersonId> = plan
        .into_iter()
        .flat_map(|plan| readers(plan, driver))
        .map(|(_, who)| who)
        .filter(|who| read(*who).is_none())
        .collect();
    let me = reader.signed.person;
    let chip = |(id, name): (PersonId, String)| Chip::new(id.to_string(), name);
    let mates = words::team_mates(reader, now.file.register.body.team);
    let team = reader.pit.teams.get(&now.file.register.body.team);
    let to_confirm = link_plan::gaps(now.file, reader.pit.settings(), &now.work.link_plan_changes)
        .into_iter()
        .filter_map(|gap| match gap {
            link_plan::Gap::NotConfirmedSince(change) => Some(change.what),
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
        about: team.map_or_else(String::new, |team| team.body.name.to_string()),
        version: current.map(|(number, sight)| Version {
            number,
            at: sight.at,
            by: reader.name(sight.seen_by),
        }),
        gaps: gaps(reader, now),
        facts: plan.map_or_else(Vec::new, |plan| {
            vec![
                ("Link", note(&plan.place)),
                ("Hatch", note(&plan.hatch)),
                ("Held by", note(&plan.retention)),
                ("Dead when", note(&plan.dead_when)),
                (
                    "Links",
                    plan.links
                        .map_or_else(|| "not said".to_owned(), |n| n.get().to_string()),
                ),
                ("Spare", note(&plan.spare)),
            ]
        }),
        making_safe: plan.map_or_else(Vec::new, |plan| steps(&plan.making_safe)),
        arming: plan.map_or_else(Vec::new, |plan| steps(&plan.arming)),
        duties,
        reach: plan.map_or_else(Vec::new, |plan| {
            vec![
                ("Upright", seconds(plan.reach_upright_s)),
                ("Inverted", seconds(plan.reach_inverted_s)),
            ]
        }),
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

/// The form's view: what stands, or a first draft for the type of machine.
pub fn edit(reader: &Reader, now: &RobotNow<'_>, typed: Option<Typed>) -> Edit {
    let standing = now
        .file
        .state
        .link_plans
        .current()
        .map(|(_, sight)| sight.value.clone());
    let plan = standing.unwrap_or_else(|| Plan {
        configuration: now.file.register.body.configuration.clone(),
        ..link_plan::draft(now.file.register.body.machine)
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
    }
}

fn as_typed(plan: &Plan) -> Typed {
    let mut typed = Typed::default();
    let mut put = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            typed.values.insert(name.to_owned(), value);
        }
    };
    put(
        "configuration",
        plan.configuration.as_ref().map(ToString::to_string),
    );
    put("place", plan.place.as_ref().map(ToString::to_string));
    put("hatch", plan.hatch.as_ref().map(ToString::to_string));
    put(
        "retention",
        plan.retention.as_ref().map(ToString::to_string),
    );
    put(
        "dead_when",
        plan.dead_when.as_ref().map(ToString::to_string),
    );
    put("spare", plan.spare.as_ref().map(ToString::to_string));
    put("links", plan.links.map(|n| n.get().to_string()));
    put("holder", plan.holder.map(|who| who.to_string()));
    put("inserter", plan.inserter.map(|who| who.to_string()));
    put("remover", plan.remover.map(|who| who.to_string()));
    put("verifier", plan.verifier.map(|who| who.to_string()));
    put(
        "reach_upright_s",
        plan.reach_upright_s.map(|s| s.get().to_string()),
    );
    put(
        "reach_inverted_s",
        plan.reach_inverted_s.map(|s| s.get().to_string()),
    );
    let lines = |steps: &[Note]| {
        steps
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join("\n")
    };
    put("arming", Some(lines(&plan.arming)));
    put("making_safe", Some(lines(&plan.making_safe)));
    typed
}

/// The plan a form says.
///
/// # Errors
/// What is wrong, by field, with what was typed.
pub fn read(fields: &Fields) -> Result<Plan, Typed> {
    let mut typed = fields.typed();
    let faults = &mut typed.faults;
    let mut note = |name: &str| {
        let text = fields.filled(name)?;
        Note::new(text)
            .map_err(|why| faults.insert(name.to_owned(), why))
            .ok()
    };
    let (place, hatch, retention, dead_when, spare) = (
        note("place"),
        note("hatch"),
        note("retention"),
        note("dead_when"),
        note("spare"),
    );
    let mut steps = |name: &str| -> Vec<Note> {
        let lines = fields
            .get(name)
            .unwrap_or_default()
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty());
        lines
            .filter_map(|line| {
                Note::new(line)
                    .map_err(|why| faults.insert(name.to_owned(), why))
                    .ok()
            })
            .collect()
    };
    let (arming, making_safe) = (steps("arming"), steps("making_safe"));
    for (name, steps) in [("arming", &arming), ("making_safe", &making_safe)] {
        if steps.len() > 20 {
            faults.insert(name.to_owned(), "At most 20 steps.".to_owned());
        }
    }
    let configuration = fields.filled("configuration").and_then(|text| {
        Name::new(text)
            .map_err(|why| faults.insert("configuration".to_owned(), why))
            .ok()
    });
    let mut whole = |name: &str, what: &str, most: i32| -> Option<i64> {
        let text = fields.filled(name)?;
        let value = text
            .parse::<i64>()
            .ok()
            .filter(|value| (0..=i64::from(most)).contains(value));
        if value.is_none() {
            faults.insert(
                name.to_owned(),
                format!("A whole number of {what}, from 0 to {most}."),
            );
        }
        value
    };
    let upright = whole("reach_upright_s", "seconds", Seconds::MAX);
    let inverted = whole("reach_inverted_s", "seconds", Seconds::MAX);
    let links = whole("links", "links", Count::MAX);
    let plan = Plan {
        configuration,
        place,
        hatch,
        retention,
        links: links.and_then(Count::new),
        spare,
        dead_when,
        holder: fields.id("holder"),
        inserter: fields.id("inserter"),
        remover: fields.id("remover"),
        verifier: fields.id("verifier"),
        arming,
        making_safe,
        reach_upright_s: upright.and_then(Seconds::new),
        reach_inverted_s: inverted.and_then(Seconds::new),
    };
    if typed.is_sound() {
        Ok(plan)
    } else {
        Err(typed)
    }
}
