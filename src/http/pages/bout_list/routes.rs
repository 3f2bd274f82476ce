//! The addresses of bouts by list.

use super::{BoutList, Row, page};
use crate::app::{App, AppError, door};
use crate::auth::Action as Right;
use crate::calc::fault::Fault;
use crate::calc::running_order::{RoundRobinInput, round_robin};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refused, see};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::bout_list::{Listed, read};
use crate::pit::csv::{self, Cell};
use crate::pit::ids::{BoutId, RobotId, Subject};
use crate::pit::logbook::register::Slot;
use crate::pit::logbook::{Body, Draft};
use actix_web::{HttpResponse, web};
use chrono::{DateTime, NaiveDateTime, NaiveTime, TimeDelta, TimeZone as _, Utc};

/// `GET /e/{event}/bout-list`.
pub async fn show(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::OrderBouts)?;
    let reader = Reader::of(&here, &app).await?;
    let view = view(&reader, None, Typed::default());
    Ok(form::page(page(&reader.frame(Place::Register), &view)))
}

fn view(reader: &Reader, preview: Option<Vec<Row>>, typed: Typed) -> BoutList {
    let robots = reader.pit.robots.iter();
    let mut robots: Vec<Chip> = robots
        .filter(|(_, file)| !file.register.body.retired)
        .map(|(id, _)| Chip::new(id.to_string(), reader.robot(*id)))
        .collect();
    robots.sort_by(|a, b| a.label.cmp(&b.label));
    BoutList {
        tag: Tag {
            name: "Bouts by list".to_owned(),
            sub: reader.event_name(),
            bench: None,
            href: Some(format!("{}/register", reader.base)),
        },
        action: format!("{}/bout-list", reader.base),
        preview,
        robots,
        typed,
    }
}

/// A time of the hall: of today, or of the first day before it has begun; or with its day.
fn time(reader: &Reader, text: &str) -> Option<DateTime<Utc>> {
    let today = reader
        .clock
        .now
        .with_timezone(&reader.clock.zone)
        .date_naive();
    let event = reader.pit.event.as_ref().map(|event| &event.body);
    let day = event.map_or(today, |event| {
        today.clamp(event.first_day, event.last_day.max(event.first_day))
    });
    let local = ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
        .or_else(|| Some(day.and_time(NaiveTime::parse_from_str(text, "%H:%M").ok()?)))?;
    let hall = reader.clock.zone.from_local_datetime(&local).earliest()?;
    Some(hall.with_timezone(&Utc))
}

/// `POST /e/{event}/bout-list`: shows what a list would enter, or enters it, all or none.
pub async fn listed(
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::OrderBouts)?;
    let reader = Reader::of(&here, &app).await?;
    looked_at(
        &here,
        &reader,
        &fields,
        fields.get("list").unwrap_or_default(),
    )
    .await
}

async fn looked_at(
    here: &Here,
    reader: &Reader,
    fields: &Fields,
    text: &str,
) -> Result<HttpResponse, Problem> {
    let key = fields.key()?;
    let mut typed = Typed::default();
    typed.values.insert("list".to_owned(), text.to_owned());
    // Bouts get ids from behind those of their lines.
    let new = |n: u16| BoutId(key.nth(1_000 + n).0);
    let found = read(&reader.pit, text, &|text| time(reader, text), &new);
    let found = found.and_then(|listed| {
        let lines = lines(here, fields, &listed).map_err(|_| Vec::new())?;
        match door::admit(&here.pit, here.signed.enterer(), &lines, "/rows") {
            Ok(()) => Ok((listed, lines)),
            Err(AppError::Refused(faults)) => Err(faults),
            Err(other) => Err(vec![Fault::new("", other.to_string())]),
        }
    });
    let (listed, lines) = match found {
        Ok(found) => found,
        Err(faults) => {
            let details: Vec<String> = faults.into_iter().map(|fault| fault.detail).collect();
            typed.faults.insert(String::new(), details.join("\n"));
            let view = view(reader, None, typed);
            return Ok(refused(page(&reader.frame(Place::Register), &view)));
        }
    };
    if fields.get("do") == Some("enter") {
        record(here, fields, lines).await?;
        return Ok(see(format!("{}/board", reader.base)));
    }
    let rows = listed.iter().map(|one| row(reader, &listed, one)).collect();
    let view = view(reader, Some(rows), typed);
    Ok(form::page(page(&reader.frame(Place::Register), &view)))
}

fn lines(here: &Here, fields: &Fields, listed: &[Listed]) -> Result<Vec<Draft>, AppError> {
    let key = fields.key()?;
    let lines = (0..).zip(listed).map(|(n, one)| Draft {
        id: key.nth(n),
        at: here.now,
        seen_by: None,
        subject: Subject::Bout(one.bout),
        how: None,
        corrects: None,
        if_revision: one.revision,
        body: Body::RegisterBout(one.body.clone()),
    });
    Ok(lines.collect())
}

fn row(reader: &Reader, listed: &[Listed], one: &Listed) -> Row {
    let number = |bout: BoutId| {
        let new = listed.iter().find(|other| other.bout == bout);
        let known = reader.pit.bouts.get(&bout).map(|known| known.body.number);
        new.map(|other| other.body.number)
            .or(known)
            .map_or(0, |number| number.get())
    };
    let corner = |slot: Slot| match slot {
        Slot::Robot(robot) => reader.robot(robot),
        Slot::Winner(of) => format!("winner of {}", number(of)),
        Slot::Loser(of) => format!("loser of {}", number(of)),
    };
    let [first, second] = one.body.slots;
    Row {
        number: one.body.number.get(),
        call: format!(
            "{} {}",
            reader.clock.day(one.body.call_at),
            reader.clock.hm(one.body.call_at)
        ),
        corners: format!("{} v {}", corner(first), corner(second)),
        changes: one.revision.is_some(),
    }
}

/// `POST /e/{event}/bout-list/everybody`: writes the list of everybody against everybody, to be
/// looked at like any other.
pub async fn everybody(
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::OrderBouts)?;
    let reader = Reader::of(&here, &app).await?;
    let robots = fields
        .all("robot")
        .filter_map(|id| id.parse::<RobotId>().ok());
    let robots: Vec<String> = robots.map(|id| reader.robot(id)).collect();
    let mut typed = fields.typed();
    let first = fields.filled("first").and_then(|text| time(&reader, text));
    if first.is_none() {
        typed.faults.insert(
            "first".to_owned(),
            "A time of the hall, such as 14:05.".to_owned(),
        );
    }
    let every: Option<i64> = fields.id("every").filter(|every| (1..=240).contains(every));
    if every.is_none() {
        typed
            .faults
            .insert("every".to_owned(), "From 1 to 240 min.".to_owned());
    }
    let order = round_robin(&RoundRobinInput { robots });
    if let Err(faults) = &order {
        let details: Vec<&str> = faults.iter().map(|fault| fault.detail.as_str()).collect();
        typed.faults.insert(String::new(), details.join("\n"));
    }
    let (Ok(order), Some(first), Some(every)) = (order, first, every) else {
        let view = view(&reader, None, typed);
        return Ok(refused(page(&reader.frame(Place::Register), &view)));
    };
    let numbers = reader.pit.bouts.values().map(|bout| bout.body.number.get());
    let next = numbers.max().unwrap_or(0) + 1;
    let rows: Vec<Vec<Cell>> = (0..)
        .zip(&order.order)
        .map(|(n, pair)| {
            let call = (first + TimeDelta::minutes(every * n)).with_timezone(&reader.clock.zone);
            vec![
                Cell::value(Some(i64::from(next) + n)),
                Cell::value(Some(call.format("%Y-%m-%d %H:%M"))),
                // Looked at here and not in a spreadsheet: names as they are.
                Cell::value(Some(&pair.one)),
                Cell::value(Some(&pair.other)),
            ]
        })
        .collect();
    let text = csv::write(&["number", "call", "one", "other"], &rows);
    looked_at(&here, &reader, &fields, &text).await
}
