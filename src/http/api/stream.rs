//! `/api/v1/events/{event}/stream`: told at once when something changes (server-sent events).
//!
//! A message says up to which place of the logbook what is known has changed and what it is about,
//! not what was written: whoever cares reads it again, with their own rights.

use crate::http::{Problem, ProblemKind, signed::Here};
use crate::live::Change;
use crate::pit::ids::Subject;
use actix_web::{HttpRequest, HttpResponse, get, http::header, web};
use bytes::Bytes;
use futures_util::{Stream, stream};
use std::{convert::Infallible, sync::Arc, time::Duration};
use tokio::sync::{broadcast, watch};

/// A word now and then keeps proxies and radios from taking the line for dead.
const QUIET: Duration = Duration::from_secs(20);

/// Tells every stream when the service ends.
#[derive(Clone)]
pub struct Ending(watch::Receiver<bool>);

/// Ends every stream.
pub struct End(watch::Sender<bool>);

impl End {
    /// A service that has not ended, and how its streams learn that it does.
    pub fn new() -> (Self, Ending) {
        let (end, ending) = watch::channel(false);
        (Self(end), Ending(ending))
    }

    /// Ends them.
    pub fn now(&self) {
        self.0.send_replace(true);
    }
}

struct Listening {
    changes: broadcast::Receiver<Change>,
    ending: watch::Receiver<bool>,
    /// Keeps the event open while somebody listens.
    event: Arc<crate::app::Event>,
    first: Option<Bytes>,
}

/// Streams changes
///
/// Each message has the place of the last line as its id and, as data, what changed. With
/// `Last-Event-ID` a stream goes on where the last one broke off: if anything was recorded since,
/// the first message says so at once.
#[utoipa::path(
    operation_id = "stream_changes", tag = "logbook", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("Last-Event-ID" = Option<String>, Header, pattern = "^[0-9]{1,18}$",
            description = "Place of the last line known."),
    ),
    responses((status = 200, description = "Messages until the service or the listener ends.",
        body = String, content_type = "text/event-stream",
        example = json!("id: 412\nevent: change\ndata: {\"seq\":412,\"about\":[\"robot:0197a3c2-0000-7000-8000-000000000005\"]}\n\n"))),
)]
#[get("/api/v1/events/{event}/stream")]
pub async fn stream_changes(
    here: Here,
    ending: web::Data<Ending>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let known = match request.headers().get("last-event-id") {
        None => None,
        Some(text) => Some(
            text.to_str()
                .ok()
                .and_then(|text| text.parse::<i64>().ok())
                .ok_or_else(|| {
                    Problem::new(
                        ProblemKind::Malformed,
                        "Last-Event-ID is a place in the logbook.",
                    )
                })?,
        ),
    };
    // Listening begins before looking, so that nothing falls in between.
    let changes = here.event.hub().listen();
    let last_seq = here.event.pit().last_seq;
    let first = match known {
        Some(known) if known < last_seq => message(last_seq, None),
        _ => Bytes::from(format!("retry: 1000\nid: {last_seq}\n\n")),
    };
    let listening = Listening {
        changes,
        ending: ending.0.clone(),
        event: here.event,
        first: Some(first),
    };
    Ok(HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, "text/event-stream"))
        .insert_header(("x-accel-buffering", "no"))
        .streaming(messages(listening)))
}

fn messages(listening: Listening) -> impl Stream<Item = Result<Bytes, Infallible>> {
    stream::unfold(listening, |mut listening| async move {
        if let Some(first) = listening.first.take() {
            return Some((Ok(first), listening));
        }
        if *listening.ending.borrow() {
            return None;
        }
        let next = tokio::select! {
            change = listening.changes.recv() => match change {
                Ok(change) => message(change.last_seq, Some(&change.subjects)),
                Err(broadcast::error::RecvError::Lagged(_)) => {
                    message(listening.event.pit().last_seq, None)
                }
                Err(broadcast::error::RecvError::Closed) => return None,
            },
            _ = listening.ending.changed() => return None,
            () = tokio::time::sleep(QUIET) => Bytes::from_static(b":\n\n"),
        };
        Some((Ok(next), listening))
    })
}

/// A change up to a place; about anything, where what was missed is not known one by one.
fn message(seq: i64, about: Option<&[Subject]>) -> Bytes {
    let data = serde_json::json!({"seq": seq, "about": about});
    Bytes::from(format!("id: {seq}\nevent: change\ndata: {data}\n\n"))
}
