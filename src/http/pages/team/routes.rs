//! The team's page.

use super::{Clash, Doing, Machine, Team, Thing, page};
use crate::app::{App, AppError, advice};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::bench::view::{chain, help, named};
use crate::http::pages::form;
use crate::http::pages::parts::banner::Action;
use crate::http::pages::parts::lanes::Link;
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::clashes::{self, Against, Need, NeededFor};
use crate::pit::ids::{PersonId, TeamId};
use crate::pit::logbook::{Body, Role};
use crate::pit::packs::Packs;
use crate::pit::tasks::{Progress, advice::Advice};
use actix_web::{HttpResponse, web};
use serde::Deserialize;

/// So many tasks of the deciding chain stand on the team page.
const CHAIN_SHOWN: usize = 3;

/// Which team, for those who see several.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Which {
    team: Option<TeamId>,
}

/// `GET /e/{event}/team`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let team = which.team.or(here.signed.team).ok_or(AppError::Unknown)?;
    here.signed.sees(Right::SeeTeam, Some(team))?;
    let advice = advice::known(&here.event, team, here.now);
    let view = view(&reader, team, advice.as_deref()).ok_or(AppError::Unknown)?;
    Ok(form::page(page(&reader.frame(Place::Team), &view)))
}

fn view(reader: &Reader, team: TeamId, advice: Option<&Advice>) -> Option<Team> {
    let registered = reader.pit.teams.get(&team)?;
    let robots: Vec<RobotNow<'_>> = reader
        .pit
        .robots_of(team)
        .filter_map(|(id, _)| RobotNow::of(reader, id))
        .collect();
    let people = words::team_mates(reader, team);
    let count =
        |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    Some(Team {
        name: registered.body.name.to_string(),
        sub: format!(
            "{}, {}",
            count(robots.len(), "robot", "robots"),
            count(people.len(), "person", "people")
        ),
        robots: robots
            .iter()
            .map(|now| Machine {
                row: now.row(reader),
                call: now.next.as_ref().map(|next| next.bout.call),
                decides: short(chain(reader, now)),
                help: help::gains(reader, now, advice)
                    .into_iter()
                    .next()
                    .map(|gain| (gain.title, format!("{}, {}", gain.gain, gain.odds))),
            })
            .collect(),
        clashes: clashes::clashes(&reader.pit, team, reader.clock.now)
            .iter()
            .map(|clash| clashing(reader, clash))
            .collect(),
        people: people
            .iter()
            .map(|(id, name)| doing(reader, &robots, *id, name))
            .collect(),
        things: things(reader, &robots, team),
        spares: if reader.signed.team == Some(team) {
            format!("{}/spares", reader.base)
        } else {
            format!("{}/spares?team={team}", reader.base)
        },
        packs: reader
            .pit
            .packs
            .values()
            .any(|pack| pack.body.team == team && !pack.body.retired)
            .then(|| format!("{}/packs?team={team}", reader.base)),
        gas: reader
            .pit
            .bottles
            .values()
            .any(|bottle| bottle.body.team == team && !bottle.body.retired)
            .then(|| format!("{}/gas?team={team}", reader.base)),
        register: matches!(reader.signed.role, Role::Lead | Role::Organiser)
            .then(|| format!("{}/register", reader.base)),
    })
}

/// The names of the first tasks of a chain, and how many more there are.
fn short(chain: Vec<Link>) -> Vec<String> {
    let more = chain.len().saturating_sub(CHAIN_SHOWN);
    let mut names: Vec<String> = chain
        .into_iter()
        .take(CHAIN_SHOWN)
        .map(|link| link.name)
        .collect();
    if more > 0 {
        names.push(format!("{more} more"));
    }
    names
}

/// Somebody needed at two places, and who takes it over by one tap.
fn clashing(reader: &Reader, clash: &clashes::Clash) -> Clash {
    let who = reader.name(Some(clash.person));
    let when = reader.clock.hm(clash.at);
    let need = |need: &Need| {
        let robot = reader.robot(need.robot);
        match &need.what {
            NeededFor::Driving => format!("drives {robot}"),
            NeededFor::Task(task) => {
                format!(
                    "{}, {robot}",
                    words::task_name(reader, Some(need.robot), task)
                )
            }
        }
    };
    let (title, detail) = match &clash.against {
        Against::Need(other) => (
            format!("{who} is needed at both, {when}"),
            format!("{}; {}", need(&clash.need), need(other)),
        ),
        Against::Away(until) => (
            format!("{who} is away when needed, {when}"),
            format!(
                "{}; away till {}",
                need(&clash.need),
                reader.clock.hm(*until)
            ),
        ),
    };
    // A plan gives its tasks to others by itself; who drives is for people to say.
    let ways = match clash.need.what {
        NeededFor::Driving => clash
            .instead
            .iter()
            .map(|instead| Action {
                label: format!(
                    "Ask {} to drive {}",
                    reader.name(Some(*instead)),
                    reader.robot(clash.need.robot)
                ),
                action: format!("{}/duty", reader.bench(clash.need.robot)),
                fields: vec![
                    ("duty", "driver".to_owned()),
                    ("takes", instead.to_string()),
                ],
            })
            .collect(),
        NeededFor::Task(_) => Vec::new(),
    };
    Clash {
        title,
        detail,
        ways,
    }
}

/// What somebody is on, by what was said; else what the plan gives them next.
fn doing(reader: &Reader, robots: &[RobotNow<'_>], who: PersonId, name: &str) -> Doing {
    let running = robots.iter().find_map(|now| {
        now.today.open().find_map(|(_, item)| match &item.progress {
            Progress::Running { by, .. } if by.contains(&who) => Some((now, item)),
            _ => None,
        })
    });
    let holds = robots.iter().find(|now| {
        use crate::pit::logbook::machine::Holder;
        matches!(now.file.state.holder.as_ref().map(|h| h.value), Some(Holder::Person(holder)) if holder == who)
    });
    let planned = robots.iter().find_map(|now| {
        let Some(Body::Planned(plan)) = reader
            .pit
            .plans
            .get(&now.file.register.body.team)
            .map(|line| &line.body)
        else {
            return None;
        };
        plan.tasks
            .iter()
            .filter(|task| task.people.contains(&who) && task.end > reader.clock.now)
            .min_by_key(|task| task.start)
            .map(|task| (now, task))
    });
    let (what, at, till) = match (running, planned) {
        (Some((now, item)), planned) => (
            named(reader, now, item),
            Some(now),
            planned
                .filter(|(_, task)| task.task == item.key.task)
                .map(|(_, task)| task.end),
        ),
        (None, Some((now, task))) => (
            format!(
                "next: {}, {}",
                words::task_name(reader, Some(task.robot), &task.task),
                reader.clock.hm(task.start)
            ),
            Some(now),
            None,
        ),
        (None, None) => ("nothing entered".to_owned(), None, None),
    };
    let mut detail: Vec<String> = at.into_iter().map(|now| reader.robot(now.id)).collect();
    detail.extend(holds.map(|now| format!("holds the link of {}", reader.robot(now.id))));
    Doing {
        name: name.to_owned(),
        what,
        detail: detail.join(", "),
        till,
    }
}

fn things(reader: &Reader, robots: &[RobotNow<'_>], team: TeamId) -> Vec<Thing> {
    let last = |wanted: &dyn Fn(&Body) -> bool| {
        robots
            .iter()
            .flat_map(|now| now.file.lines.iter())
            .filter(|line| wanted(&line.body))
            .max_by_key(|line| (line.at, line.id))
            .map(|line| {
                format!(
                    "{}, {}",
                    words::body(reader, line),
                    reader.clock.hm(line.at)
                )
            })
    };
    let unknown = || "nothing entered".to_owned();
    let packs = Packs::of(&reader.pit, team, reader.clock.now);
    let mut things: Vec<Thing> = packs
        .sets
        .iter()
        .map(|(id, set)| Thing {
            label: format!("set {}", set.body.label),
            now: last(&|body| match body {
                Body::Pack(pack) => pack.set == Some(*id),
                Body::Charge(charge) => charge.set == Some(*id),
                _ => false,
            })
            .unwrap_or_else(unknown),
            detail: words::packs::set_detail(set, &packs, reader),
            ready: set
                .ready_at
                .map_or_else(String::new, |ready| reader.clock.hm(ready)),
            href: Some(format!("{}/sets/{id}/volts", reader.base)),
        })
        .collect();
    things.extend(
        reader
            .pit
            .channels
            .iter()
            .filter(|(_, channel)| channel.body.team == team && !channel.body.retired)
            .map(|(id, channel)| Thing {
                label: format!("channel {}", channel.body.label),
                now: last(&|body| match body {
                    Body::Charge(charge) => charge.channels.iter().flatten().any(|c| c == id),
                    _ => false,
                })
                .unwrap_or_else(|| "free".to_owned()),
                detail: format!(
                    "{} A, {} W",
                    f64::from(channel.body.max_current_ma.get()) / 1000.0,
                    channel.body.max_power_w.get()
                ),
                ready: String::new(),
                href: None,
            }),
    );
    things.extend(
        reader
            .pit
            .bottles
            .iter()
            .filter(|(_, bottle)| bottle.body.team == team && !bottle.body.retired)
            .map(|(id, bottle)| Thing {
                label: format!("bottle {}", bottle.body.label),
                now: last(&|body| matches!(body, Body::Bottle(b) if b.bottle == Some(*id)))
                    .unwrap_or_else(unknown),
                detail: String::new(),
                ready: String::new(),
                href: Some(format!("{}/bottles/{id}/mass", reader.base)),
            }),
    );
    things
}
