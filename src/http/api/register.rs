//! `/api/v1/events/{event}/<things>`: what exists, read and changed one thing at a time.
//!
//! A change writes a register line. Its revision is the thing's ETag: a change names the one it is
//! based on in `If-Match`, a new thing says `If-None-Match: *`.

use super::conditional::unless_known;
use super::line_form::body_with_example;
use super::operation::{Described, id_parameter, json_answer, json_body, text};
use super::page::{self, Cursor};
use super::thing::Thing;
use crate::app::{App, AppError, door};
use crate::http::{Problem, ProblemKind, document::Document, signed::Here};
use crate::pit::ids::{LineId, TeamId};
use crate::pit::logbook::Draft;
use crate::pit::state::{Pit, Registered};
use actix_web::{
    HttpRequest, HttpResponse,
    dev::{AppService, HttpServiceFactory},
    http::header::{self, EntityTag, Header as _, IfMatch, IfNoneMatch},
    web,
};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::marker::PhantomData;
use utoipa::{
    IntoParams, PartialSchema as _, ToSchema,
    openapi::{
        ArrayBuilder, HttpMethod, ObjectBuilder, PathItem, Ref, RefOr, Required,
        path::{OperationBuilder, ParameterBuilder, ParameterIn, Paths},
        schema::{KnownFormat, Schema, Type},
    },
};
use utoipa_actix_web::OpenApiFactory;
use uuid::Uuid;

/// The resources of one kind of thing.
pub struct Collection<T>(PhantomData<T>);

impl<T> Collection<T> {
    /// The resources.
    pub fn new() -> Self {
        Self(PhantomData)
    }
}

/// A thing as it is published.
#[derive(Serialize)]
struct Shown<'a, B> {
    id: Uuid,
    revision: i64,
    recorded_at: DateTime<Utc>,
    body: &'a B,
}

#[derive(Serialize)]
struct Page<'a, B> {
    items: Vec<Shown<'a, B>>,
    next_cursor: Option<String>,
}

fn shown<B>(id: Uuid, thing: &Registered<B>) -> Shown<'_, B> {
    Shown {
        id,
        revision: thing.revision,
        recorded_at: thing.recorded_at,
        body: &thing.body,
    }
}

/// The strong tag of a revision.
pub fn tag(revision: i64) -> EntityTag {
    EntityTag::new_strong(revision.to_string())
}

fn sees<T: Thing>(here: &Here, id: Uuid) -> bool {
    let team = here.pit.team_of(T::subject(id));
    here.signed.may(T::SEEN_BY, team)
}

/// Which things, and which page of them.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ThingsQuery {
    /// Only those of this team.
    #[param(value_type = Option<Uuid>)]
    team: Option<TeamId>,
    /// Only those that are, or are not, retired.
    #[param(value_type = Option<bool>)]
    retired: Option<bool>,
    /// Most items wanted; 50 if not given.
    #[param(value_type = Option<usize>, minimum = 1, maximum = 100)]
    limit: Option<String>,
    /// `next_cursor` of the page before.
    #[param(max_length = 100)]
    cursor: Option<String>,
}

impl ThingsQuery {
    fn wants<T: Thing>(&self, pit: &Pit, id: Uuid, thing: &Registered<T::Body>) -> bool {
        let of_team = |team| pit.team_of(T::subject(id)) == Some(team);
        let is = |retired: bool| T::retired(&thing.body) == retired;
        self.team.is_none_or(of_team) && self.retired.is_none_or(is)
    }
}

async fn list<T: Thing>(
    here: Here,
    query: web::Query<ThingsQuery>,
) -> Result<HttpResponse, Problem> {
    let after: Option<Uuid> = query.cursor.as_deref().map(Cursor::read).transpose()?;
    let limit = page::limit(query.limit.as_deref())?;
    let mut items: Vec<_> = T::after(&here.pit, after)
        .into_iter()
        .filter(|(id, thing)| sees::<T>(&here, *id) && query.wants::<T>(&here.pit, *id, thing))
        .take(limit + 1)
        .map(|(id, thing)| shown(id, thing))
        .collect();
    let more = items.len() > limit;
    items.truncate(limit);
    let next_cursor = items
        .last()
        .filter(|_| more)
        .map(|last| Cursor::of(&last.id));
    Ok(HttpResponse::Ok().json(Page { items, next_cursor }))
}

async fn get<T: Thing>(
    here: Here,
    path: web::Path<(String, Uuid)>,
    request: HttpRequest,
) -> Result<HttpResponse, Problem> {
    let id = path.1;
    let thing = T::find(&here.pit, id)
        .filter(|_| sees::<T>(&here, id))
        .ok_or(AppError::Unknown)?;
    Ok(answer_of(&request, thing.revision, &shown(id, thing)))
}

/// A thing with its revision as the ETag; 304 to whoever has that revision.
pub fn answer_of(request: &HttpRequest, revision: i64, view: &impl Serialize) -> HttpResponse {
    unless_known(request, tag(revision), |answer| answer.json(view))
}

async fn put<T: Thing>(
    here: Here,
    path: web::Path<(String, Uuid)>,
    app: web::Data<App>,
    request: HttpRequest,
    Document(body): Document<T::Body>,
) -> Result<HttpResponse, Problem> {
    let id = path.1;
    let known = T::find(&here.pit, id);
    let if_revision = based_on(&request, known.map(|thing| thing.revision))?;
    let draft = Draft {
        id: LineId(app.ids.id(here.now)),
        at: here.now,
        seen_by: None,
        subject: T::subject(id),
        how: None,
        corrects: None,
        if_revision,
        body: T::line(body),
    };
    let recorded = door::hand_in(
        &here.event,
        here.signed.enterer(),
        vec![draft],
        None,
        here.now,
        "",
    )
    .await
    .map_err(without_line_pointer)?;
    let pit = here.event.pit();
    let thing = T::find(&pit, id).ok_or_else(|| AppError::bug("a thing is gone that was put"))?;
    let revision = recorded.first().map_or(thing.revision, |line| line.seq);
    let mut answer = if known.is_some() {
        HttpResponse::Ok()
    } else {
        HttpResponse::Created()
    };
    Ok(answer
        .insert_header(header::ETag(tag(revision)))
        .json(shown(id, thing)))
}

/// The body of the request is the body of the only line.
pub fn without_line_pointer(error: AppError) -> AppError {
    match error {
        AppError::Refused(mut faults) => {
            for fault in &mut faults {
                if let Some(rest) = fault.pointer.strip_prefix("/0") {
                    fault.pointer = rest.strip_prefix("/body").unwrap_or(rest).to_owned();
                }
            }
            AppError::Refused(faults)
        }
        other => other,
    }
}

/// A revision that nothing ever has.
const NO_REVISION: i64 = 0;

/// The revision a change is based on, none for a new thing. Whether it is the last is for the
/// writer to say.
///
/// # Errors
/// [`ProblemKind::RevisionNeeded`] if the request does not say, also for `If-Match: *`, which does
/// not show that anybody read it.
pub fn based_on(request: &HttpRequest, current: Option<i64>) -> Result<Option<i64>, Problem> {
    let needed = |detail: &str| Err(Problem::new(ProblemKind::RevisionNeeded, detail));
    if request.headers().contains_key(header::IF_MATCH) {
        return match IfMatch::parse(request) {
            Ok(IfMatch::Items(tags)) => Ok(Some(
                current
                    .filter(|current| tags.iter().any(|known| known.strong_eq(&tag(*current))))
                    .or_else(|| tags.iter().find_map(revision_of))
                    .unwrap_or(NO_REVISION),
            )),
            Ok(IfMatch::Any) => needed("'*' does not say which revision the change is based on."),
            // What is no tag matches none.
            Err(_) => Ok(Some(NO_REVISION)),
        };
    }
    if request.headers().contains_key(header::IF_NONE_MATCH) {
        return match IfNoneMatch::parse(request) {
            Ok(IfNoneMatch::Any) => Ok(None),
            _ => needed("A new thing says If-None-Match: *."),
        };
    }
    needed(
        "The header If-Match with the thing's ETag is missing, or If-None-Match: * for a new thing.",
    )
}

/// The revision a tag stands for. A weak tag never matches strongly (RFC 9110 section 8.8.3.2), so
/// it stands for none.
fn revision_of(tag: &EntityTag) -> Option<i64> {
    if tag.weak {
        return None;
    }
    tag.tag()
        .parse()
        .ok()
        .filter(|revision| *revision > NO_REVISION)
}

impl<T: Thing> Collection<T> {
    fn many() -> String {
        format!("/api/v1/events/{{event}}/{}", T::NOUNS.replace(' ', "-"))
    }

    fn one() -> String {
        format!("{}/{{{}}}", Self::many(), in_names(T::NOUN))
    }

    fn shown_name() -> String {
        format!("Registered{}", T::Body::name())
    }

    fn page_name() -> String {
        format!("Registered{}Page", T::Body::name())
    }
}

impl<T: Thing> HttpServiceFactory for Collection<T> {
    fn register(self, config: &mut AppService) {
        web::resource(Self::many())
            .route(web::get().to(list::<T>))
            .register(config);
        web::resource(Self::one())
            .route(web::get().to(get::<T>))
            .route(web::put().to(put::<T>))
            .register(config);
    }
}

impl<T: Thing> OpenApiFactory for Collection<T> {
    fn paths(&self) -> Paths {
        let noun = T::NOUN;
        let event = id_parameter("event", "The event.");
        let thing = || id_parameter(&in_names(noun), &format!("The {noun}."));
        let reading = OperationBuilder::new()
            .operation_id(Some(format!("list_{}", in_names(T::NOUNS))))
            .tag("register")
            .summary(Some(format!(
                "Lists {}, as far as they are yours to see",
                T::NOUNS
            )))
            .parameter(event.clone())
            .parameters(Some(ThingsQuery::into_params(|| None)))
            .response("200", json_answer("A page, by id.", &Self::page_name()))
            .signed();
        let getting = OperationBuilder::new()
            .operation_id(Some(format!("get_{}", in_names(noun))))
            .tag("register")
            .summary(Some(format!("Shows a {noun}")))
            .description(Some("The ETag is its revision."))
            .parameter(event.clone())
            .parameter(thing())
            .response(
                "200",
                json_answer("As it is registered.", &Self::shown_name()),
            )
            .signed();
        let putting = OperationBuilder::new()
            .operation_id(Some(format!("put_{}", in_names(noun))))
            .tag("register")
            .summary(Some(format!("Changes a {noun}, or adds one")))
            .description(Some(
                "Writes a register line with the whole of it. `If-Match` names the revision it is \
                 based on; a new one says `If-None-Match: *` under an id of its own.",
            ))
            .parameter(event)
            .parameter(thing())
            .parameter(condition("If-Match", "\"7\""))
            .parameter(condition("If-None-Match", "*"))
            .request_body(Some(json_body(&T::Body::name())))
            .response("200", json_answer("Changed.", &Self::shown_name()))
            .response("201", json_answer("Added.", &Self::shown_name()))
            .signed();
        let mut paths = Paths::new();
        paths
            .paths
            .insert(Self::many(), PathItem::new(HttpMethod::Get, reading));
        let mut one = PathItem::new(HttpMethod::Get, getting);
        one.merge_operations(PathItem::new(HttpMethod::Put, putting));
        paths.paths.insert(Self::one(), one);
        paths
    }

    fn schemas(&self, schemas: &mut Vec<(String, RefOr<Schema>)>) {
        let name = T::Body::name().into_owned();
        let form = body_with_example(T::KIND, T::Body::schema());
        schemas.push((name.clone(), form));
        T::Body::schemas(schemas);
        let one = ObjectBuilder::new()
            .property("id", text(KnownFormat::Uuid))
            .property(
                "revision",
                ObjectBuilder::new()
                    .schema_type(Type::Integer)
                    .description(Some("Place of its last register line: its ETag.")),
            )
            .property("recorded_at", text(KnownFormat::DateTime))
            .property("body", Ref::from_schema_name(name))
            .required("id")
            .required("revision")
            .required("recorded_at")
            .required("body");
        schemas.push((Self::shown_name(), one.into()));
        let page = ObjectBuilder::new()
            .property(
                "items",
                ArrayBuilder::new().items(Ref::from_schema_name(Self::shown_name())),
            )
            .property("next_cursor", Option::<String>::schema())
            .required("items")
            .required("next_cursor");
        schemas.push((Self::page_name(), page.into()));
    }
}

/// A noun as it stands in names of operations and parameters.
fn in_names(noun: &str) -> String {
    noun.replace(' ', "_")
}

fn condition(name: &str, example: &str) -> utoipa::openapi::path::Parameter {
    ParameterBuilder::new()
        .name(name)
        .parameter_in(ParameterIn::Header)
        .required(Required::False)
        .schema(Some(ObjectBuilder::new().schema_type(Type::String).build()))
        .example(Some(example.into()))
        .build()
}
