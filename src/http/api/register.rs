//! `/api/v1/events/{event}/<things>`: what exists, read and changed one thing at a time.
//!
//! A change writes a register line. Its revision is the thing's ETag: a change names the one it is
//! based on in `If-Match`, a new thing says `If-None-Match: *`.

use super::operation::{Described, id_parameter, json_answer, json_body, text};
use super::page::{Cursor, PageQuery};
use super::thing::Thing;
use crate::app::{App, AppError, door};
use crate::http::{Problem, ProblemKind, document::Document, signed::Here};
use crate::pit::ids::LineId;
use crate::pit::logbook::Draft;
use crate::pit::state::Registered;
use actix_web::{
    HttpRequest, HttpResponse,
    dev::{AppService, HttpServiceFactory},
    http::header::{self, EntityTag, Header as _, IfMatch, IfNoneMatch},
    web,
};
use chrono::{DateTime, Utc};
use serde::Serialize;
use std::marker::PhantomData;
use utoipa::{
    PartialSchema as _, ToSchema,
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

async fn list<T: Thing>(here: Here, page: web::Query<PageQuery>) -> Result<HttpResponse, Problem> {
    let after: Option<Uuid> = page.after()?;
    let limit = page.limit()?;
    let mut items: Vec<_> = T::after(&here.pit, after)
        .into_iter()
        .filter(|(id, _)| sees::<T>(&here, *id))
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
    let tag = tag(thing.revision);
    if let Ok(IfNoneMatch::Items(known)) = IfNoneMatch::parse(&request)
        && known.iter().any(|known| known.weak_eq(&tag))
    {
        return Ok(HttpResponse::NotModified()
            .insert_header(header::ETag(tag))
            .finish());
    }
    Ok(HttpResponse::Ok()
        .insert_header(header::ETag(tag))
        .json(shown(id, thing)))
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

/// The revision a change is based on, none for a new thing.
///
/// # Errors
/// [`ProblemKind::RevisionNeeded`] if the request does not say, also for `If-Match: *`, which does
/// not show that anybody read it; [`ProblemKind::Stale`] if it says another than the last.
pub fn based_on(request: &HttpRequest, current: Option<i64>) -> Result<Option<i64>, Problem> {
    let stale = || Problem::from(AppError::Stale { current });
    let needed = |detail: &str| Err(Problem::new(ProblemKind::RevisionNeeded, detail));
    if request.headers().contains_key(header::IF_MATCH) {
        return match IfMatch::parse(request) {
            Ok(IfMatch::Items(tags)) => current
                .filter(|current| tags.iter().any(|known| known.strong_eq(&tag(*current))))
                .map(Some)
                .ok_or_else(stale),
            Ok(IfMatch::Any) => needed("'*' does not say which revision the change is based on."),
            // What is no tag matches none.
            Err(_) => Err(stale()),
        };
    }
    if request.headers().contains_key(header::IF_NONE_MATCH) {
        return match (IfNoneMatch::parse(request), current) {
            (Ok(IfNoneMatch::Any), None) => Ok(None),
            (Ok(IfNoneMatch::Any), Some(_)) => Err(stale()),
            _ => needed("A new thing says If-None-Match: *."),
        };
    }
    needed(
        "The header If-Match with the thing's ETag is missing, or If-None-Match: * for a new thing.",
    )
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
            .parameters(Some(PageQuery::parameters()))
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
        let mut form = T::Body::schema();
        if let RefOr::T(Schema::Object(object)) = &mut form {
            object.example = Some(T::example());
        }
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
