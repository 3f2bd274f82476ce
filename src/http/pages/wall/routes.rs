//! The wall's address.

use super::{Wall, WallBout, page};
use crate::app::App;
use crate::http::Problem;
use crate::http::pages::form;
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::announcements::announcements;
use crate::pit::hazards;
use crate::pit::ids::RobotId;
use crate::pit::logbook::register::Slot;
use crate::pit::state::running_order::{BoutNow, Progress};
use actix_web::{HttpResponse, web};
use chrono::TimeDelta;

/// How many calls stand below the next one: what can be read from ten metres.
const LATER: usize = 5;
/// How long an announcement to everyone stands there. **Source** own value.
const ON_WALL: TimeDelta = TimeDelta::minutes(15);

/// `GET /e/{event}/wall`.
pub async fn show(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    Ok(form::page(page(
        &reader.frame(Place::Other),
        &view(&reader),
    )))
}

fn view(reader: &Reader) -> Wall {
    let order = reader.pit.running_order();
    let mut waiting = order
        .iter()
        .filter(|bout| bout.progress == Progress::Waiting)
        .map(|bout| on_wall(reader, bout));
    Wall {
        event: reader
            .pit
            .event
            .as_ref()
            .map_or_else(String::new, |event| event.body.name.to_string()),
        late: announced(reader)
            .or_else(|| words::last_move(reader))
            .unwrap_or_default(),
        stopped: hazards::everyone_stop(&reader.pit).map(|(_, words)| {
            words.unwrap_or_else(|| "Stand where you are. Hands off.".to_owned())
        }),
        next: waiting.next(),
        later: waiting.take(LATER).collect(),
    }
}

/// What was announced to everyone not long ago.
fn announced(reader: &Reader) -> Option<String> {
    let now = reader.clock.now;
    let all = announcements(&reader.pit, now).into_iter();
    let fresh = all.filter(|one| now - one.at() < ON_WALL);
    let body = fresh.filter_map(|one| one.body().cloned());
    let mut to_all = body.filter(|body| body.roles.is_empty() && body.teams.is_empty());
    to_all.next().map(|body| body.text.to_string())
}

fn on_wall(reader: &Reader, bout: &BoutNow) -> WallBout {
    let corner = |robot: Option<RobotId>, slot: Slot| {
        let number = |id| {
            reader
                .pit
                .bouts
                .get(&id)
                .map_or(0, |bout| bout.body.number.get())
        };
        match (robot, slot) {
            (Some(robot), _) | (None, Slot::Robot(robot)) => (
                reader.robot(robot),
                reader
                    .pit
                    .robot(robot)
                    .and_then(|file| file.register.body.bench)
                    .map(|bench| bench.get()),
            ),
            (None, Slot::Winner(of)) => (format!("winner of {}", number(of)), None),
            (None, Slot::Loser(of)) => (format!("loser of {}", number(of)), None),
        }
    };
    WallBout {
        number: bout.number,
        call: bout.call,
        robots: [
            corner(bout.robots[0], bout.slots[0]),
            corner(bout.robots[1], bout.slots[1]),
        ],
        state: if bout.called_at.is_some() {
            "called"
        } else {
            ""
        },
    }
}
