//! The service as a whole: layers, routes, and the way down.

use super::api::{self, stream};
use super::{assets, document, edge, known, pages, problem_page};
use crate::app::App;
use actix_web::{App as Actix, HttpResponse, HttpServer, dev::Server, middleware::from_fn, web};
use std::{io, net::TcpListener, num::NonZeroUsize, sync::Arc};
use utoipa::openapi::OpenApi;
use utoipa_actix_web::AppExt as _;
use utoipa_swagger_ui::{Config, SwaggerUi};

/// Addresses of the service that are neither operations of the API nor pages.
const OTHERS: &[(&str, &str)] = &[
    ("GET", "/api/v1/openapi.json"),
    ("GET", "/api/docs/{_:.*}"),
    ("GET", "/problems/{slug}"),
    ("GET", "/assets/{digest}/{path:.*}"),
    ("GET", "/service-worker.js"),
    ("GET", "/app.webmanifest"),
    ("GET", "/favicon.ico"),
];

/// A running service: awaited until it has ended, and what ends its streams.
pub struct Running {
    /// The server itself.
    pub server: Server,
    /// Ends every stream, without which a graceful stop waits for them.
    pub end: stream::End,
}

/// The published document of the API.
pub fn openapi() -> OpenApi {
    let (_, mut document) = Actix::new()
        .into_utoipa_app()
        .openapi(api::document())
        .configure(api::routes)
        .split_for_parts();
    api::finish(&mut document);
    document
}

/// Builds the service on a listener: the same in production and in tests.
///
/// # Errors
/// The listener cannot be used.
pub fn build(app: Arc<App>, listener: TcpListener, workers: NonZeroUsize) -> io::Result<Running> {
    let (end, ending) = stream::End::new();
    let published = openapi();
    let document = web::Data::new(Published(serde_json::to_string(&published)?));
    let outermost = web::Data::new(edge::Edge {
        clock: app.clock.clone(),
        ids: app.ids.clone(),
        known: known::Known::new(&published, &[OTHERS, pages::ADDRESSES].concat()),
    });
    let app = web::Data::from(app);
    let ending = web::Data::new(ending);
    let server = HttpServer::new(move || {
        Actix::new()
            .app_data(app.clone())
            .app_data(outermost.clone())
            .app_data(document.clone())
            .app_data(ending.clone())
            .app_data(web::PayloadConfig::new(document::MOST_BYTES))
            .app_data(document::path_config())
            .app_data(document::query_config())
            .app_data(document::form_config())
            .app_data(document::picture_config())
            .wrap(from_fn(edge::edge))
            .route("/api/v1/openapi.json", web::get().to(show_document))
            .service(
                // The viewer asks a validator elsewhere what it thinks, unless told not to.
                SwaggerUi::new("/api/docs/{_:.*}")
                    .config(Config::from("/api/v1/openapi.json").validator_url("none")),
            )
            .configure(problem_page::routes)
            .configure(assets::root_routes)
            .service(assets::routes())
            // An address is held against one after the other: programs ask most often.
            .into_utoipa_app()
            .configure(api::routes)
            .into_app()
            .configure(pages::routes)
            .default_service(web::to(known::nothing_here))
    })
    .workers(workers.get())
    .disable_signals()
    .shutdown_timeout(10)
    .listen(listener)?
    .run();
    Ok(Running { server, end })
}

/// The published document as it is sent.
struct Published(String);

async fn show_document(document: web::Data<Published>) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/json")
        .insert_header(("cache-control", "no-cache"))
        .body(document.0.clone())
}
