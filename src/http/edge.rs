//! The outermost layer: request ids, the one moment of a request, HEAD, how problems and headers
//! look, and one event in the log per request.

use super::problem::{Problem, ProblemKind};
use super::{known::Known, problem_page, same_site, security};
use crate::app::{Clock, IdSource};
use actix_web::{
    Error, FromRequest, HttpMessage as _, HttpRequest, HttpResponse, ResponseError as _,
    body::{BoxBody, MessageBody},
    dev::{Payload, ServiceRequest, ServiceResponse},
    http::{Method, StatusCode, header},
    middleware::Next,
    web,
};
use chrono::{DateTime, Utc};
use std::{
    future::{Ready, ready},
    sync::Arc,
    time::Instant,
};
use uuid::Uuid;

/// When a request came in and what it is called: the clock is read once, here.
#[derive(Debug, Clone, Copy)]
pub struct Moment {
    /// The time.
    pub now: DateTime<Utc>,
    /// The id of the request, also in the header `X-Request-Id` and in problem documents.
    pub request: Uuid,
}

impl FromRequest for Moment {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(Self::of(request))
    }
}

impl Moment {
    /// The moment of a request that came in through [`edge`].
    ///
    /// # Errors
    /// [`ProblemKind::Bug`] if it did not.
    pub fn of(request: &HttpRequest) -> Result<Self, Problem> {
        request
            .extensions()
            .get::<Self>()
            .copied()
            .ok_or_else(|| Problem::new(ProblemKind::Bug, "The request has no moment."))
    }
}

/// What the outermost layer needs.
pub struct Edge {
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// Where request ids come from.
    pub ids: Arc<dyn IdSource>,
    /// Addresses and their methods.
    pub known: Known,
}

/// Who asked for what, kept because the request itself goes on into its handler.
struct Asked {
    method: Method,
    path: String,
    wants_page: bool,
    moment: Moment,
    begun: Instant,
}

/// Takes a request in and sees its answer out.
///
/// # Errors
/// Only what a layer within fails with; handlers and extractors answer with problems.
pub async fn edge(
    mut request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, Error> {
    let edge = request
        .app_data::<web::Data<Edge>>()
        .cloned()
        .ok_or_else(|| Problem::new(ProblemKind::Bug, "The service is not set up."))?;
    let now = edge.clock.now();
    let asked = Asked {
        method: request.method().clone(),
        path: request.path().to_owned(),
        wants_page: wants_page(&request),
        moment: Moment {
            now,
            request: edge.ids.id(now),
        },
        begun: Instant::now(),
    };
    request.extensions_mut().insert(asked.moment);
    // A HEAD is answered as its GET; the protocol's encoder leaves the body out.
    if asked.method == Method::HEAD {
        request.head_mut().method = Method::GET;
    }
    let early = match asked.method {
        Method::OPTIONS => edge.known.allow(&request).map(|allow| {
            HttpResponse::NoContent()
                .insert_header((header::ALLOW, allow))
                .finish()
        }),
        _ => same_site::check(&request)
            .err()
            .map(|problem| problem.error_response()),
    };
    let mut answer = match early {
        Some(early) => request.into_response(early),
        None => next.call(request).await?.map_into_boxed_body(),
    };
    let problem = take_problem(&edge, &mut answer);
    if let Some(problem) = &problem {
        answer = show(answer, problem, &asked);
    }
    security::add_headers(answer.headers_mut(), &asked.path);
    if let Ok(id) = asked.moment.request.to_string().parse() {
        answer
            .headers_mut()
            .insert(header::HeaderName::from_static("x-request-id"), id);
    }
    log(&answer, problem.as_ref(), &asked);
    Ok(answer)
}

fn wants_page(request: &ServiceRequest) -> bool {
    let accepts_html = request
        .headers()
        .get(header::ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|accept| accept.contains("text/html"));
    accepts_html && !request.path().starts_with("/api/")
}

/// The problem that goes along with an answer; an error that the framework made by itself becomes
/// one too.
fn take_problem(edge: &Edge, answer: &mut ServiceResponse<BoxBody>) -> Option<Problem> {
    let carried = answer.response_mut().extensions_mut().remove::<Problem>();
    if carried.is_some() {
        return carried;
    }
    let status = answer.status();
    if !(status.is_client_error() || status.is_server_error()) {
        return None;
    }
    // A page that shows a form again, with what is wrong in it, says so itself.
    let shows_a_form = answer
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    let form_again = matches!(
        status,
        StatusCode::UNPROCESSABLE_ENTITY | StatusCode::PRECONDITION_FAILED
    );
    if form_again && shows_a_form {
        return None;
    }
    let kind = ProblemKind::ALL
        .iter()
        .copied()
        .find(|kind| kind.status() == status)
        .unwrap_or(if status.is_client_error() {
            ProblemKind::Malformed
        } else {
            ProblemKind::Bug
        });
    let mut problem = Problem::new(kind, kind.title());
    if status == StatusCode::METHOD_NOT_ALLOWED {
        problem.allow = edge.known.allow_for(answer.request().path());
    }
    Some(problem)
}

/// Writes a problem as the page or the document that was asked for.
fn show(
    answer: ServiceResponse<BoxBody>,
    problem: &Problem,
    asked: &Asked,
) -> ServiceResponse<BoxBody> {
    let (request, bare) = answer.into_parts();
    let document = problem.document(format!("/requests/{}", asked.moment.request));
    let to_sign_in = asked.wants_page
        && problem.kind == ProblemKind::SignInNeeded
        && matches!(asked.method, Method::GET | Method::HEAD);
    let mut shown = if to_sign_in {
        let next: String = url::form_urlencoded::byte_serialize(asked.path.as_bytes()).collect();
        HttpResponse::SeeOther()
            .insert_header((header::LOCATION, format!("/join?next={next}")))
            .finish()
    } else if asked.wants_page {
        problem_page::answer(problem.kind.status(), &document, asked.moment)
    } else {
        HttpResponse::build(problem.kind.status())
            .content_type("application/problem+json")
            .body(serde_json::to_string(&document).unwrap_or_default())
    };
    for (name, value) in bare.headers() {
        if ![header::CONTENT_TYPE, header::CONTENT_LENGTH].contains(name) {
            shown.headers_mut().append(name.clone(), value.clone());
        }
    }
    if let Some(allow) = problem
        .allow
        .as_deref()
        .and_then(|allow| allow.parse().ok())
    {
        shown.headers_mut().insert(header::ALLOW, allow);
    }
    ServiceResponse::new(request, shown)
}

fn log(answer: &ServiceResponse<BoxBody>, problem: Option<&Problem>, asked: &Asked) {
    let route = answer.request().match_pattern().unwrap_or_default();
    let status = answer.status();
    let duration_ms = asked.begun.elapsed().as_millis();
    let kind = problem.map_or("", |problem| problem.kind.slug());
    let cause = problem.map(causes).unwrap_or_default();
    macro_rules! event {
        ($level:ident) => {
            tracing::$level!(
                request.id = %asked.moment.request,
                http.method = %asked.method,
                http.route = route,
                http.status = status.as_u16(),
                duration_ms,
                problem.kind = kind,
                problem.cause = cause,
                "answered"
            )
        };
    }
    if status.is_server_error() {
        event!(error);
    } else {
        event!(info);
    }
}

fn causes(problem: &Problem) -> String {
    let mut text = String::new();
    let mut next = problem
        .cause
        .as_deref()
        .map(|cause| cause as &dyn std::error::Error);
    while let Some(cause) = next {
        if !text.is_empty() {
            text.push_str(": ");
        }
        text.push_str(&cause.to_string());
        next = cause.source();
    }
    text
}
