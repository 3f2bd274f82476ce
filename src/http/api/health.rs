//! `/healthz`: whether the service can record.

use crate::app::App;
use crate::http::Problem;
use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;

/// The service can record.
#[derive(Serialize, ToSchema)]
pub struct HealthView {
    /// Always `ok`; otherwise the answer is 503.
    #[schema(example = "ok")]
    status: &'static str,
}

/// Says whether the service can record
#[utoipa::path(
    operation_id = "get_health", tag = "service",
    responses((status = 200, description = "It can.", body = HealthView)),
)]
#[get("/healthz")]
pub async fn get_health(app: web::Data<App>) -> Result<HttpResponse, Problem> {
    app.answers().await?;
    Ok(HttpResponse::Ok().json(HealthView { status: "ok" }))
}
