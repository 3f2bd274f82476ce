//! `/api/v1/events/{event}/lines` and `/outbox`: the logbook, written and read.

use super::page;
use crate::app::{App, AppError, door, logbook, pins};
use crate::calc::{fault::Fault, strict};
use crate::http::{
    Problem, ProblemKind,
    document::{Document, JsonValue},
    edge::Moment,
    problem::ProblemDocument,
    signed::Here,
};
use crate::pit::ids::{LineId, PersonId, Subject};
use crate::pit::logbook::{Author, Draft, How, Kind, Line, line::DraftForm};
use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::openapi::{ObjectBuilder, schema::Schema, schema::Type};
use utoipa::{IntoParams, ToSchema};

/// Most reports of an outbox that are taken at once.
const MOST_REPORTS: usize = 200;

/// Lines that belong together: all are recorded, or none.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "sent_at": "2027-01-15T14:20:31.250Z",
    "lines": [{
        "id": "0197a3c2-7d1e-7c3a-9b1f-3f0a5b1c2d4e", "kind": "link",
        "at": "2027-01-15T14:20:05Z", "how": "did",
        "subject": "robot:0197a3c2-0000-7000-8000-000000000005",
        "body": {"state": "out", "links": "all", "holder": "box", "light": "dark"}
    }]
}))]
pub struct ReportForm {
    /// What the sender's clock says as it sends, so that the clock's error is known.
    #[serde(default)]
    sent_at: Option<DateTime<Utc>>,
    /// The lines.
    #[schema(value_type = Vec<DraftForm>, min_items = 1, max_items = 100)]
    lines: Vec<Value>,
    /// Who enters them, if it is not the person of the session.
    #[serde(default)]
    second: Option<SecondForm>,
}

/// A second person on the same phone, who enters lines under their own name.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"person": "0197a3c2-0000-7000-8000-000000000002", "pin": "4711"}))]
pub struct SecondForm {
    /// Somebody of the same team.
    person: PersonId,
    /// Their PIN. It is sent at once and never kept in an outbox.
    #[schema(min_length = 4, max_length = 8, pattern = "^[0-9]{4,8}$")]
    pin: String,
}

/// Without the PIN, which belongs into no log.
impl std::fmt::Debug for SecondForm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SecondForm")
            .field("person", &self.person)
            .finish_non_exhaustive()
    }
}

/// Reports that have nothing to do with one another, in the order they were entered.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "sent_at": "2027-01-15T14:20:31.250Z",
    "reports": [{"lines": [{
        "id": "0197a3c2-7d1e-7c3a-9b1f-3f0a5b1c2d4e", "kind": "place",
        "at": "2027-01-15T14:20:05Z", "how": "did",
        "subject": "robot:0197a3c2-0000-7000-8000-000000000005",
        "body": {"place": "pit_bench"}
    }]}]
}))]
pub struct OutboxForm {
    /// What the sender's clock says as it sends.
    #[serde(default)]
    sent_at: Option<DateTime<Utc>>,
    /// The reports.
    #[schema(value_type = Vec<WaitingReport>, min_items = 1, max_items = 200)]
    reports: Vec<Value>,
}

/// A report in an outbox.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WaitingReport {
    /// Its lines.
    #[schema(value_type = Vec<DraftForm>, min_items = 1, max_items = 100)]
    lines: Vec<Value>,
}

/// Where a line stands now.
#[derive(Debug, Serialize, ToSchema)]
pub struct Receipt {
    /// The line's id.
    id: LineId,
    /// Its place in the logbook.
    #[schema(minimum = 1)]
    seq: i64,
    /// Recorded now; otherwise it had been recorded before, with the same content.
    is_new: bool,
}

/// What became of a report.
#[derive(Debug, Serialize, ToSchema)]
pub struct Receipts {
    /// One for each line, in their order.
    receipts: Vec<Receipt>,
}

/// What became of one report of an outbox.
#[derive(Debug, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ReportAnswer {
    /// Recorded: one receipt for each line.
    Receipts(Vec<Receipt>),
    /// Not recorded, and why. With status 503 it may be sent again; otherwise not as it is.
    Problem(Box<ProblemDocument>),
}

/// What became of an outbox.
#[derive(Debug, Serialize, ToSchema)]
pub struct OutboxAnswers {
    /// One for each report, in their order.
    answers: Vec<ReportAnswer>,
}

/// A line as it is published.
#[derive(Debug, Serialize, ToSchema)]
pub struct LineView {
    /// Its place in the logbook.
    #[schema(minimum = 1)]
    seq: i64,
    /// Its id.
    id: LineId,
    /// Its kind.
    #[schema(example = "link")]
    kind: &'static str,
    /// Version of the kind's body.
    version: i16,
    /// When it was seen, by the server's clock.
    at: DateTime<Utc>,
    /// When it was seen, as the phone's clock said.
    claimed_at: DateTime<Utc>,
    /// The phone's clock was too far off to be trusted.
    clock_doubtful: bool,
    /// When the server had it.
    recorded_at: DateTime<Utc>,
    /// Who saw or did it.
    seen_by: Option<PersonId>,
    /// Who entered it.
    entered_by: Author,
    /// What it is about.
    subject: Subject,
    /// Done or seen.
    how: Option<How>,
    /// The line it puts right.
    corrects: Option<LineId>,
    /// What it says.
    #[schema(value_type = Object)]
    body: Value,
}

impl From<&Line> for LineView {
    fn from(line: &Line) -> Self {
        Self {
            seq: line.seq,
            id: line.id,
            kind: line.kind().name(),
            version: 1,
            at: line.at,
            claimed_at: line.claimed_at,
            clock_doubtful: line.clock_doubtful,
            recorded_at: line.recorded_at,
            seen_by: line.seen_by,
            entered_by: line.entered_by,
            subject: line.subject,
            how: line.how,
            corrects: line.corrects,
            body: line.body.to_value(),
        }
    }
}

/// A page of the logbook.
#[derive(Debug, Serialize, ToSchema)]
pub struct LinePage {
    /// Lines, oldest first. There may be fewer than asked for although more follow, where lines
    /// that are not yours to see lie in between.
    items: Vec<LineView>,
    /// Goes on from here; none at the end.
    next_cursor: Option<String>,
}

/// Which lines.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct LinesQuery {
    /// Kinds, with commas between them; all if not given.
    #[param(schema_with = kinds)]
    kind: Option<String>,
    /// What they are about.
    #[param(value_type = Option<Subject>)]
    subject: Option<String>,
    /// After this place in the logbook.
    #[param(value_type = Option<i64>, minimum = 0)]
    after: Option<String>,
    /// Most lines wanted; 50 if not given.
    #[param(value_type = Option<usize>, minimum = 1, maximum = 100)]
    limit: Option<String>,
    /// `next_cursor` of the page before, in the place of `after`.
    #[param(max_length = 100)]
    cursor: Option<String>,
}

/// Names of kinds with commas between them.
fn kinds() -> Schema {
    let names: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
    let one = names.join("|");
    ObjectBuilder::new()
        .schema_type(Type::String)
        .pattern(Some(format!("^({one})(,({one}))*$")))
        .examples(["link,gas"])
        .into()
}

impl LinesQuery {
    fn wanted(&self) -> Result<logbook::Wanted, Problem> {
        let malformed =
            |pointer, detail: String| Problem::at(ProblemKind::Malformed, pointer, detail);
        let mut kinds = Vec::new();
        for name in self.kind.iter().flat_map(|names| names.split(',')) {
            kinds.push(Kind::named(name).ok_or_else(|| malformed("/kind", Kind::unknown(name)))?);
        }
        let subject = self
            .subject
            .as_deref()
            .map(|text| {
                text.parse()
                    .map_err(|error: crate::pit::ids::UnknownSubject| {
                        malformed("/subject", format!("{error}."))
                    })
            })
            .transpose()?;
        let after = match (&self.cursor, &self.after) {
            (Some(cursor), _) => page::Cursor::read(cursor)?,
            (None, Some(after)) => after
                .parse()
                .ok()
                .filter(|after| *after >= 0)
                .ok_or_else(|| malformed("/after", "A place is a number from 0.".to_owned()))?,
            (None, None) => 0,
        };
        Ok(logbook::Wanted {
            kinds,
            subject,
            after,
            limit: page::limit(self.limit.as_deref())?,
        })
    }
}

/// Reads the logbook
///
/// Oldest first, as far as lines are yours to see.
#[utoipa::path(
    operation_id = "list_lines", tag = "logbook", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event."), LinesQuery),
    responses((status = 200, description = "A page, by place.", body = LinePage)),
)]
#[get("/api/v1/events/{event}/lines")]
pub async fn list_lines(
    here: Here,
    app: web::Data<App>,
    query: web::Query<LinesQuery>,
) -> Result<HttpResponse, Problem> {
    let read = logbook::read(&app, &here.signed, here.event.id(), &query.wanted()?).await?;
    Ok(HttpResponse::Ok().json(LinePage {
        items: read.lines.iter().map(LineView::from).collect(),
        next_cursor: read.go_on_after.map(|seq| page::Cursor::of(&seq)),
    }))
}

/// Hands in a report
///
/// Its lines are recorded together, or none is. The same lines sent again are recorded once. No
/// line is refused because what it reports is unsafe. A second person on the same phone enters under
/// their own name by their PIN.
#[utoipa::path(
    operation_id = "hand_in_lines", tag = "logbook", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    request_body = ReportForm,
    responses(
        (status = 200, description = "Every line had been recorded before.", body = Receipts),
        (status = 201, description = "Recorded.", body = Receipts),
    ),
)]
#[post("/api/v1/events/{event}/lines")]
pub async fn hand_in_lines(
    here: Here,
    Document(report): Document<ReportForm>,
) -> Result<HttpResponse, Problem> {
    let who = match report.second {
        None => here.signed.enterer(),
        Some(second) => {
            let SecondForm { person, pin } = second;
            let (event, signed) = (&here.event, &here.signed);
            pins::second(&here.app, event, signed, person, pin, "/second/pin").await?
        }
    };
    let receipts = take(&here, who, &report.lines, report.sent_at).await?;
    let mut answer = if receipts.iter().any(|receipt| receipt.is_new) {
        HttpResponse::Created()
    } else {
        HttpResponse::Ok()
    };
    Ok(answer.json(Receipts { receipts }))
}

/// Empties an outbox
///
/// Reports that waited on a phone, taken in their order and answered one by one: one that is
/// refused does not keep the others out.
#[utoipa::path(
    operation_id = "empty_outbox", tag = "logbook", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    request_body = OutboxForm,
    responses((status = 200, description = "What became of each.", body = OutboxAnswers)),
)]
#[post("/api/v1/events/{event}/outbox")]
pub async fn empty_outbox(
    here: Here,
    moment: Moment,
    JsonValue(value): JsonValue,
) -> Result<HttpResponse, Problem> {
    let outbox: OutboxForm = strict::read(&value, "").map_err(AppError::Refused)?;
    let count = outbox.reports.len();
    if !(1..=MOST_REPORTS).contains(&count) {
        let detail = format!("{count} reports is not from 1 to {MOST_REPORTS}.");
        return Err(AppError::refused("/reports", detail).into());
    }
    let instance = format!("/requests/{}", moment.request);
    let mut answers = Vec::with_capacity(count);
    for report in &outbox.reports {
        let taken = match strict::read::<WaitingReport>(report, "") {
            Ok(report) => take(&here, here.signed.enterer(), &report.lines, outbox.sent_at).await,
            Err(faults) => Err(AppError::Refused(faults)),
        };
        answers.push(match taken {
            Ok(receipts) => ReportAnswer::Receipts(receipts),
            Err(error) => {
                let problem = Problem::from(error).document(instance.clone());
                ReportAnswer::Problem(Box::new(problem))
            }
        });
    }
    Ok(HttpResponse::Ok().json(OutboxAnswers { answers }))
}

async fn take(
    here: &Here,
    who: door::Enterer,
    lines: &[Value],
    sent_at: Option<DateTime<Utc>>,
) -> Result<Vec<Receipt>, AppError> {
    let drafts = read_lines(lines).map_err(AppError::Refused)?;
    let ids: Vec<LineId> = drafts.iter().map(|draft| draft.id).collect();
    let recorded = door::hand_in(&here.event, who, drafts, sent_at, here.now, "/lines").await?;
    Ok(ids
        .into_iter()
        .zip(recorded)
        .map(|(id, recorded)| Receipt {
            id,
            seq: recorded.seq,
            is_new: recorded.is_new,
        })
        .collect())
}

/// Reads every line, and names every fault of every one.
fn read_lines(lines: &[Value]) -> Result<Vec<Draft>, Vec<Fault>> {
    let mut drafts = Vec::with_capacity(lines.len());
    let mut faults = Vec::new();
    for (index, line) in lines.iter().take(door::MOST_LINES + 1).enumerate() {
        match Draft::read(line, &format!("/lines/{index}")) {
            Ok(draft) => drafts.push(draft),
            Err(more) => faults.extend(more),
        }
    }
    if faults.is_empty() {
        Ok(drafts)
    } else {
        Err(faults)
    }
}
