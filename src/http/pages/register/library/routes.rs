//! The addresses of a team's task lists.

use super::{Lists, OneTask, Task, machine_name, page, task_page};
use crate::app::{App, AppError, logbook};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::register::things::{Noun, convert};
use crate::http::pages::register::{Field, routes::may};
use crate::http::signed::Here;
use crate::pit::ids::{Subject, TeamId};
use crate::pit::library;
use crate::pit::library::tasks::{List, TaskDef};
use crate::pit::logbook::register::{Library, Machine, TaskChange, ThreePoint};
use crate::pit::logbook::{Body, Kind};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;

/// Versions that are shown, the last first.
const VERSIONS: usize = 5;
/// More changes than this to one list are not looked through.
const MOST_VERSIONS: usize = 200;

/// A team's list.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfList {
    team: TeamId,
    machine: Machine,
}

/// A task of it.
#[derive(Debug, Clone, Deserialize)]
pub struct OfTask {
    team: TeamId,
    machine: Machine,
    task: String,
}

fn theirs(reader: &Reader, team: TeamId) -> Result<(), AppError> {
    may(&reader.signed)?;
    let known = reader.pit.teams.contains_key(&team);
    if known && Noun::Teams.shown_to(reader, Some(team), team.0) {
        Ok(())
    } else {
        Err(AppError::Unknown)
    }
}

fn address(reader: &Reader, of: OfList) -> String {
    format!(
        "{}/register/library/{}/{}",
        reader.base,
        of.team,
        of.machine.as_str()
    )
}

/// `GET /e/{event}/register/library/{team}/{machine}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfList>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    theirs(&reader, of.team)?;
    let versions = versions(&here, &app, &reader, *of).await?;
    let changes = reader.pit.libraries.get(&(of.team, of.machine));
    let changes = changes.map(|known| &known.body);
    let tasks = library::for_team(of.machine, changes);
    let row = |task: &Arc<TaskDef>| {
        let change = changes.and_then(|library| library.changes.get(&task.id));
        let mut marks = Vec::new();
        if task.safety {
            marks.push("safety");
        }
        match change {
            Some(change) if change.never => marks.push("never"),
            Some(_) => marks.push("changed"),
            None => {}
        }
        Task {
            name: task.name.clone(),
            minutes: minutes(task.minutes),
            marks,
            href: format!("{}/{}", address(&reader, *of), task.id),
        }
    };
    let lists = List::ALL.map(|list| {
        let title = match list {
            List::Arrival => "Arrival to first bout",
            List::Turnaround => "Turnaround",
            List::EndOfDay => "End of day",
        };
        (title, tasks.list(list).iter().map(row).collect())
    });
    let view = Lists {
        tag: tag(&reader, of.team, machine_name(of.machine)),
        versions,
        lists: lists.into(),
    };
    Ok(form::page(page(&reader.frame(Place::Register), &view)))
}

fn tag(reader: &Reader, team: TeamId, name: &str) -> Tag {
    let team = reader.pit.teams.get(&team);
    Tag {
        name: format!("Tasks of {name}"),
        sub: team.map_or_else(String::new, |team| team.body.name.to_string()),
        bench: None,
        href: None,
    }
}

fn minutes(of: ThreePoint) -> String {
    format!("{}, {}, {} min", of.optimistic, of.likely, of.pessimistic)
}

async fn versions(
    here: &Here,
    app: &App,
    reader: &Reader,
    of: OfList,
) -> Result<Vec<String>, AppError> {
    let wanted = logbook::Wanted {
        kinds: vec![Kind::RegisterLibrary],
        subject: Some(Subject::Team(of.team)),
        after: 0,
        limit: MOST_VERSIONS,
    };
    let read = logbook::read(app, &here.signed, here.event.id(), &wanted).await?;
    let mut versions: Vec<String> = read
        .lines
        .iter()
        .filter(|line| {
            matches!(&line.body, Body::RegisterLibrary(library) if library.machine == of.machine)
        })
        .zip(1..)
        .map(|(line, n)| {
            let who = line.entered_by.person.map_or_else(
                || line.entered_by.role.as_str().to_owned(),
                |who| reader.name(Some(who)),
            );
            format!("Version {n}: {who}, {}", reader.clock.hm(line.recorded_at))
        })
        .collect();
    versions.reverse();
    versions.truncate(VERSIONS);
    Ok(versions)
}

/// `GET /e/{event}/register/library/{team}/{machine}/{task}`.
pub async fn show_task(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfTask>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    theirs(&reader, of.team)?;
    let view = task_view(&reader, &of, Typed::default())?;
    Ok(form::page(task_page(&reader.frame(Place::Register), &view)))
}

fn task_view(reader: &Reader, of: &OfTask, typed: Typed) -> Result<OneTask, AppError> {
    let list = OfList {
        team: of.team,
        machine: of.machine,
    };
    let usual = library::lists(of.machine)
        .task(&of.task)
        .ok_or(AppError::Unknown)?;
    let known = reader.pit.libraries.get(&(of.team, of.machine));
    let change = known.and_then(|known| known.body.changes.get(&of.task));
    let own = library::for_team(of.machine, known.map(|known| &known.body));
    let task = own.task(&of.task).ok_or(AppError::Unknown)?;
    let number = |name, label, value: f64, usual: f64| Field::Line {
        name,
        label,
        kind: "number",
        value: value.to_string(),
        hint: format!("As it comes: {usual} min."),
        unit: "min",
        required: true,
    };
    let (now, first) = (task.minutes, usual.minutes);
    let mut fields = vec![
        Field::line("name", "Name", task.name.clone())
            .with_hint(format!("As it comes: {}.", usual.name)),
        number(
            "optimistic",
            "If all goes well",
            now.optimistic,
            first.optimistic,
        ),
        number("likely", "Most often", now.likely, first.likely),
        number(
            "pessimistic",
            "If it does not",
            now.pessimistic,
            first.pessimistic,
        ),
    ];
    if !usual.safety {
        let never = change.is_some_and(|change| change.never);
        fields.push(Field::Chips {
            name: "never",
            label: "This team does it",
            value: if never { "yes" } else { "no" }.to_owned(),
            hint: String::new(),
            options: vec![
                Chip::new("no", "when it is called for"),
                Chip::new("yes", "never"),
            ],
        });
    }
    Ok(OneTask {
        tag: Tag {
            name: task.name.clone(),
            sub: tag(reader, of.team, "").sub,
            bench: None,
            href: None,
        },
        back: address(reader, list),
        action: format!("{}/{}", address(reader, list), of.task),
        fields,
        revision: known.map(|known| known.revision),
        safety: usual.safety,
        typed,
    })
}

/// `POST /e/{event}/register/library/{team}/{machine}/{task}`.
pub async fn save_task(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfTask>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let mut reader = Reader::of(&here, &app).await?;
    theirs(&reader, of.team)?;
    let list = OfList {
        team: of.team,
        machine: of.machine,
    };
    let key = fields.key()?;
    let known = reader.pit.libraries.get(&(of.team, of.machine));
    if known.is_some_and(|known| known.line == key.nth(0)) {
        return Ok(see(address(&reader, list)));
    }
    let based_on: Option<i64> = fields.id("revision");
    let saved = match changed(&of, known.map(|known| &known.body), &fields) {
        Err(typed) => Ok(Some(typed)),
        Ok(body) => {
            let mut line = fields.line(
                &here,
                0,
                Subject::Team(of.team),
                Kind::RegisterLibrary,
                None,
                &body,
            )?;
            line.if_revision = based_on;
            match record(&here, &fields, vec![line]).await {
                Ok(()) => Ok(None),
                Err(AppError::Stale { current, .. }) => Err(current),
                Err(error) => Ok(Some(refusal(&fields, error)?)),
            }
        }
    };
    match saved {
        Ok(None) => Ok(see(address(&reader, list))),
        Ok(Some(typed)) => {
            let view = task_view(&reader, &of, typed)?;
            Ok(refused(task_page(&reader.frame(Place::Register), &view)))
        }
        Err(_) => {
            // Other tasks may have changed as well; the form holds this one alone, so saving it
            // again on what stands now loses nothing.
            reader.pit = here.event.pit();
            let mut typed = fields.typed();
            let mut what = vec![format!(
                "{} changed these lists while this page was open. What you typed is kept: save again to put it in.",
                last_by(&reader, list)
            )];
            let now = task_view(&reader, &of, Typed::default())?;
            what.extend(differing(&now, &fields));
            typed.faults.insert(String::new(), what.join(" "));
            let view = task_view(&reader, &of, typed)?;
            Ok(HttpResponse::PreconditionFailed()
                .content_type("text/html; charset=utf-8")
                .body(task_page(&reader.frame(Place::Register), &view).into_string()))
        }
    }
}

fn last_by(reader: &Reader, of: OfList) -> String {
    let known = reader.pit.libraries.get(&(of.team, of.machine));
    known
        .and_then(|known| known.entered_by.person)
        .map_or_else(|| "Somebody".to_owned(), |who| reader.name(Some(who)))
}

/// Where the task as it stands differs from what was typed.
fn differing(now: &OneTask, fields: &Fields) -> Vec<String> {
    now.fields
        .iter()
        .filter_map(|field| match field {
            Field::Line {
                name, label, value, ..
            } => {
                let typed = fields.get(name).unwrap_or_default();
                (typed != value).then(|| format!("{label} is {value} now."))
            }
            _ => None,
        })
        .collect()
}

/// The team's whole list with this task as the form has it.
fn changed(of: &OfTask, before: Option<&Library>, fields: &Fields) -> Result<Value, Typed> {
    let mut typed = fields.typed();
    let mut points = [0.0_f64; 3];
    for (point, name) in points
        .iter_mut()
        .zip(["optimistic", "likely", "pessimistic"])
    {
        // Tenths of a minute are fine enough for anybody.
        match convert::whole(fields.get(name).unwrap_or_default(), 10) {
            Ok(tenths) => *point = f64::from(i32::try_from(tenths).unwrap_or(i32::MAX)) / 10.0,
            Err(why) => {
                typed.faults.insert(name.to_owned(), why);
            }
        }
    }
    if !typed.is_sound() {
        return Err(typed);
    }
    let mut library = before.cloned().unwrap_or(Library {
        machine: of.machine,
        changes: std::collections::BTreeMap::new(),
    });
    let usual = library::lists(of.machine).task(&of.task);
    let earlier = library.changes.remove(&of.task).unwrap_or_default();
    let minutes = ThreePoint {
        optimistic: points[0],
        likely: points[1],
        pessimistic: points[2],
    };
    let name = fields.filled("name").unwrap_or_default();
    let change = TaskChange {
        minutes: usual
            .is_none_or(|usual| usual.minutes != minutes)
            .then_some(minutes),
        name: None,
        never: fields.get("never") == Some("yes"),
        ..earlier
    };
    let mut body = json!(library);
    let mut one = json!(change);
    if usual.is_some_and(|usual| usual.name != name) && !name.is_empty() {
        one["name"] = json!(name);
    }
    let untouched = json!(TaskChange::default());
    if one != untouched {
        body["changes"][&of.task] = one;
    }
    Ok(body)
}
