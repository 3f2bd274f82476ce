//! `POST /api/v1/calc/<name>`: every calculator of the table.

use super::operation::{Described, json_answer, json_body};
use crate::app::AppError;
use crate::calc::table::{CALCULATORS, Calculator};
use crate::http::{Problem, document::JsonValue};
use actix_web::{
    HttpResponse,
    dev::{AppService, HttpServiceFactory},
    web,
};
use utoipa::openapi::{
    HttpMethod, PathItem, RefOr,
    path::{OperationBuilder, Paths},
    schema::Schema,
};
use utoipa_actix_web::OpenApiFactory;

/// Every calculator as an operation of its own.
pub struct Calculators;

fn address(calculator: &Calculator) -> String {
    format!("/api/v1/calc/{}", calculator.name)
}

impl HttpServiceFactory for Calculators {
    fn register(self, config: &mut AppService) {
        for calculator in CALCULATORS {
            let run = calculator.run;
            web::resource(address(calculator))
                .route(
                    web::post().to(move |JsonValue(input): JsonValue| async move {
                        // Some take a second of a processor, which would hold up other requests.
                        let output = web::block(move || run(&input))
                            .await
                            .map_err(AppError::bug)?
                            .map_err(AppError::Refused)?;
                        Ok::<_, Problem>(HttpResponse::Ok().json(output))
                    }),
                )
                .register(config);
        }
    }
}

impl OpenApiFactory for Calculators {
    fn paths(&self) -> Paths {
        CALCULATORS.iter().fold(Paths::new(), |mut paths, one| {
            let (input, output) = (one.forms)();
            let operation = OperationBuilder::new()
                .operation_id(Some(format!("calculate_{}", one.name.replace('-', "_"))))
                .tag("calculators")
                .summary(Some(one.tells))
                .description(Some(
                    "A pure function of its input: the same input gives the same answer, nothing is \
                     kept, and nobody has to be signed in.",
                ))
                .request_body(Some(json_body(&input)))
                .response("200", json_answer("The answer.", &output))
                .open();
            paths.merge(Paths::new().with(address(one), PathItem::new(HttpMethod::Post, operation)));
            paths
        })
    }

    fn schemas(&self, schemas: &mut Vec<(String, RefOr<Schema>)>) {
        for one in CALCULATORS {
            (one.schemas)(schemas);
        }
    }
}

trait With {
    fn with(self, address: String, item: PathItem) -> Self;
}

impl With for Paths {
    fn with(mut self, address: String, item: PathItem) -> Self {
        self.paths.insert(address, item);
        self
    }
}
