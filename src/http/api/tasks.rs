//! `/api/v1/events/{event}/robots/{robot}/tasks`: the list in hand.

use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::ids::{PersonId, RobotId};
use crate::pit::tasks::{self, Item, Progress};
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// A task.
#[derive(Debug, Serialize, ToSchema)]
pub struct TaskView {
    /// Its id in the library.
    #[schema(example = "made_safe")]
    task: String,
    /// The area, for tasks done per area.
    instance: Option<String>,
    /// What it is called.
    name: String,
    /// `waiting`, `open`, `running` or `done`.
    #[schema(example = "open")]
    state: &'static str,
    /// Ids of the tasks it waits for.
    waits_for: Vec<String>,
    /// When it began.
    since: Option<DateTime<Utc>>,
    /// When it was done.
    done_at: Option<DateTime<Utc>>,
    /// Who is on it, or did it.
    by: Vec<PersonId>,
}

/// The list of a robot as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct TasksView {
    /// Number of the turnaround, 0 for arrival.
    turnaround: u32,
    /// When it began, if a bout began it.
    began: Option<DateTime<Utc>>,
    /// Tasks, none before what it waits for.
    tasks: Vec<TaskView>,
    /// Optional tasks that somebody left out.
    left_out: Vec<String>,
    /// Nothing is left to do before reporting in the arena queue.
    all_done: bool,
}

/// Lists a robot's tasks
#[utoipa::path(
    operation_id = "list_tasks", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "The list in hand.", body = TasksView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/tasks")]
pub async fn list_tasks(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    here.signed.sees_robot(Action::SeeTeam, &here.pit, path.1)?;
    let today = tasks::today(&here.pit, path.1).ok_or(AppError::Unknown)?;
    Ok(HttpResponse::Ok().json(TasksView {
        turnaround: today.hand.turnaround,
        began: today.hand.began,
        tasks: today
            .items
            .iter()
            .map(|item| task_view(item, &today.items))
            .collect(),
        left_out: today
            .left_out
            .iter()
            .map(|left| left.key.task.clone())
            .collect(),
        all_done: today.all_done(),
    }))
}

fn task_view(item: &Item, all: &[Item]) -> TaskView {
    let mut view = TaskView {
        task: item.key.task.clone(),
        instance: item.key.instance.clone(),
        name: item.def.name.clone(),
        state: "open",
        waits_for: Vec::new(),
        since: None,
        done_at: None,
        by: Vec::new(),
    };
    match &item.progress {
        Progress::Waiting(on) => {
            view.state = "waiting";
            view.waits_for = on
                .iter()
                .filter_map(|index| all.get(*index))
                .map(|first| first.key.task.clone())
                .collect();
        }
        Progress::Open => {}
        Progress::Running { since, by, .. } => {
            view.state = "running";
            view.since = Some(*since);
            view.by.clone_from(by);
        }
        Progress::Done { since, at, by, .. } => {
            view.state = "done";
            view.since = *since;
            view.done_at = Some(*at);
            view.by.extend(by);
        }
    }
    view
}
