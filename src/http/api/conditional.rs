//! Answers that are not sent again to whoever has them already.
//!
//! **Source** RFC 9110 sections 13.1.2 and 15.4.5.

use actix_web::{
    HttpRequest, HttpResponse, HttpResponseBuilder,
    http::header::{self, CacheControl, CacheDirective, EntityTag, Header as _, IfNoneMatch},
};
use utoipa::openapi::{
    ObjectBuilder, RefOr, Required, ResponseBuilder, Type,
    header::HeaderBuilder,
    path::{Operation, ParameterBuilder, ParameterIn},
};

/// What `answer` makes, under `tag`; 304 to whoever says in `If-None-Match` that they have it, or
/// that any will do. A header that is no list of tags matches none.
///
/// Whoever keeps the answer asks each time whether it is still the one, so that a right that ended
/// has ended.
pub fn unless_known(
    request: &HttpRequest,
    tag: EntityTag,
    answer: impl FnOnce(&mut HttpResponseBuilder) -> HttpResponse,
) -> HttpResponse {
    let known = match IfNoneMatch::parse(request) {
        Ok(IfNoneMatch::Any) => true,
        Ok(IfNoneMatch::Items(tags)) => tags.iter().any(|known| known.weak_eq(&tag)),
        Err(_) => false,
    };
    let mut begun = if known {
        HttpResponse::NotModified()
    } else {
        HttpResponse::Ok()
    };
    begun
        .insert_header(header::ETag(tag))
        .insert_header(CacheControl(vec![
            CacheDirective::Private,
            CacheDirective::NoCache,
        ]));
    if known {
        begun.finish()
    } else {
        answer(&mut begun)
    }
}

/// Operations that answer by [`unless_known`], beside those that show one thing of the register.
const OWN: &[&str] = &["get_board", "get_event"];

/// Whether the operation called `id`, published under `tag`, does.
fn answers_so(id: &str, tag: Option<&str>) -> bool {
    OWN.contains(&id) || tag == Some("register") && id.starts_with("get_")
}

/// Describes what an operation does with `If-None-Match`, if it does anything.
pub fn describe(operation: &mut Operation) {
    let id = operation.operation_id.as_deref().unwrap_or_default();
    let tag = operation.tags.as_ref().and_then(|tags| tags.first());
    if !answers_so(id, tag.map(String::as_str)) {
        return;
    }
    let text = || ObjectBuilder::new().schema_type(Type::String);
    let asked = ParameterBuilder::new()
        .name("If-None-Match")
        .parameter_in(ParameterIn::Header)
        .required(Required::False)
        .description(Some("ETags of answers that need not be sent again."))
        .schema(Some(text().build()))
        .example(Some("\"7\"".into()))
        .build();
    operation
        .parameters
        .get_or_insert_default()
        .push(asked.into());
    let etag = || {
        HeaderBuilder::new()
            .schema(Some(text()))
            .description(Some("Names these bytes and no others (a strong tag)."))
            .build()
    };
    let known = ResponseBuilder::new()
        .description("It is what `If-None-Match` names: there is nothing to send.")
        .header("ETag", etag())
        .build();
    let answers = &mut operation.responses.responses;
    if let Some(RefOr::T(shown)) = answers.get_mut("200") {
        shown.headers.insert("ETag".to_owned(), RefOr::T(etag()));
    }
    answers.insert("304".to_owned(), RefOr::T(known));
}
