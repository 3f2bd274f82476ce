//! `/api/v1/events/{event}/photos/{line}`: the pictures of photographs.

use super::operation::text;
use crate::app::{App, AppError, photos, photos::Picture};
use crate::http::{Problem, document::picture_too_large, signed::Here};
use crate::pit::ids::LineId;
use actix_web::{HttpResponse, get, http::header, put, web};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{KnownFormat, RefOr, schema::Schema},
};

/// The bytes of a picture, as the document has them: nothing here is ever one.
pub enum Jpeg {}

impl PartialSchema for Jpeg {
    fn schema() -> RefOr<Schema> {
        text(KnownFormat::Binary).into()
    }
}

impl ToSchema for Jpeg {}

/// Sends the picture of a photograph
///
/// The line of kind `photo` is handed in first; its id is the address of the picture. JPEG, PNG or
/// WebP of at most 12 MiB; what is kept is a JPEG of at most 300 KiB, upright, without what the
/// camera wrote about place and time. The same picture again changes nothing; another is refused.
#[utoipa::path(
    operation_id = "send_photo", tag = "logbook", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("line" = uuid::Uuid, Path, description = "The line that says the photograph was taken."),
    ),
    request_body(content_type = "image/jpeg", content = Jpeg, description = "The picture."),
    responses((status = 204, description = "Kept.")),
)]
#[put("/api/v1/events/{event}/photos/{line}")]
pub async fn send_photo(
    here: Here,
    app: web::Data<App>,
    of: web::Path<(String, LineId)>,
    body: web::Payload,
) -> Result<HttpResponse, Problem> {
    photos::may_send(&here.pit, &here.signed, of.1)?;
    let file = match body.to_bytes_limited(photos::MOST_TAKEN).await {
        Ok(Ok(file)) => file,
        Ok(Err(cause)) => return Err(AppError::malformed("", cause.to_string()).into()),
        Err(_) => return Err(picture_too_large()),
    };
    let picture = Picture::read(file.into(), "").await?;
    photos::keep(&app, &here.event, &here.signed, of.1, &picture, here.now).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Gets the picture of a photograph
#[utoipa::path(
    operation_id = "get_photo", tag = "logbook", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("line" = uuid::Uuid, Path, description = "The line that says the photograph was taken."),
    ),
    responses((status = 200, description = "The picture.", content_type = "image/jpeg", body = Jpeg)),
)]
#[get("/api/v1/events/{event}/photos/{line}")]
pub async fn get_photo(
    here: Here,
    app: web::Data<App>,
    of: web::Path<(String, LineId)>,
) -> Result<HttpResponse, Problem> {
    let jpeg = photos::read(&app, &here.event, &here.signed, of.1).await?;
    Ok(HttpResponse::Ok()
        .content_type("image/jpeg")
        // The picture of a line never changes.
        .insert_header((header::CACHE_CONTROL, "private, max-age=604800, immutable"))
        .body(jpeg))
}
