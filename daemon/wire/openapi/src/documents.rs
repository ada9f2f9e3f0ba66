//! The schemas of the documents that commands print: each whole in itself.

use std::collections::BTreeSet;

use benchhand_blueprint::Report;
use benchhand_blueprint::answers::{AnswerDocument, StudyAnswer, TdcAnswer};
use benchhand_blueprint::report::OrderedReport;
use benchhand_wire::{
    ArchiveWritten, BackupRestored, BackupWritten, BoardAddress, Checked, Compared, ConditionKept,
    CutCorrected, CutMade, DOCUMENTS, DamageAccepted, EngineFileText, Entered, Examination,
    GaugeAnswer, GaugeHistoryAnswer, GaugeList, HeadsExchanged, Imported, JobDetail, JobList,
    JobSummary, JobUnpacked, JobsLikeAnswer, LeakChecked, Moved, NetworkClosed, OrderKept,
    OrdersAnswer, Pairing, PlateChecked, PortsAnswer, ProfileChecked, ReadingsAtAnswer, Recomputed,
    RouteList, RouteProgress, SCHEMAS, SheetChecked, SheetWritten, ShopLeft, ShopShown, Stopping,
    TablesWritten, Verified, Voided, WorkbookWritten, Zeroed,
};
use serde_json::{Map, Value, json};

use crate::schemas::{self, Schemas};

/// The dialect of the schemas.
const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";
/// Where a type stands in a schema that is whole in itself.
const DEFS: &str = "#/$defs/";
/// Where it stands in the API's description.
const COMPONENTS: &str = "#/components/schemas/";

/// Fields that a report leaves out where only some of its sections are asked for.
const ONLY_SOME: [(&str, &[&str]); 3] = [
    (
        "Report",
        &[
            "cylinders",
            "summary",
            "flow",
            "flow_by_lift",
            "running_ports",
            "bores",
            "valve_gaps",
            "measured",
            "inputs",
        ],
    ),
    (
        "CylinderReport",
        &[
            "chamber",
            "deck",
            "deck_points",
            "deck_from_parts",
            "quench",
            "rock",
            "crown",
            "compression",
            "compression_expanded",
            "compression_budget",
            "clearance",
            "swept",
        ],
    ),
    (
        "ReportSummary",
        &[
            "chamber_mean",
            "chamber_spread",
            "deck_mean",
            "deck_spread",
            "crown_mean",
            "crown_spread",
            "compression_mean",
            "compression_spread",
            "displacement",
            "expanded",
            "between_cylinders",
        ],
    ),
];

/// Every document's name with its schema, as it is kept in the wire's sources.
///
/// # Panics
/// Where the wire names other documents than these.
pub fn documents() -> Vec<(&'static str, String)> {
    let mut schemas = Schemas::default();
    macro_rules! answered {
        ($($name:literal: $type:ty,)+) => { vec![$(($name, schemas.answered::<$type>()),)+] };
    }
    let named: Vec<(&'static str, Value)> = answered! {
        "report": Report,
        "decide": AnswerDocument,
        "job-list": JobList,
        "job-readings": ReadingsAtAnswer,
        "job-like": JobsLikeAnswer,
        "job-new": JobSummary,
        "job-engine": EngineFileText,
        "job-show": JobDetail,
        "job-cut": CutMade,
        "job-correct-cut": CutCorrected,
        "job-order": OrderKept,
        "job-orders": OrdersAnswer,
        "job-recompute": Recomputed,
        "job-verify": Verified,
        "job-accept-damage": DamageAccepted,
        "job-pack": ArchiveWritten,
        "job-unpack": JobUnpacked,
        "backup": BackupWritten,
        "restore": BackupRestored,
        "sheet": SheetWritten,
        "sheet-check": SheetChecked,
        "enter": Entered,
        "import": Imported,
        "void": Voided,
        "move": Moved,
        "condition": ConditionKept,
        "routes": RouteList,
        "job-exchange-heads": HeadsExchanged,
        "steer": RouteProgress,
        "gauge-list": GaugeList,
        "gauge-set": GaugeAnswer,
        "gauge-check": Checked,
        "gauge-compare": Compared,
        "gauge-history": GaugeHistoryAnswer,
        "gauge-zero": Zeroed,
        "gauge-study": StudyAnswer,
        "flow-bench-plate": PlateChecked,
        "flow-bench-leak": LeakChecked,
        "tdc": TdcAnswer,
        "profile-check": ProfileChecked,
        "ports": PortsAnswer,
        "examine": Examination,
        "export-workbook": WorkbookWritten,
        "export-tables": TablesWritten,
        "board": BoardAddress,
        "board-open-network": Pairing,
        "board-close-network": NetworkClosed,
        "shop": ShopShown,
        "shop-leave": ShopLeft,
        "stop": Stopping,
    };
    let names: Vec<&str> = named.iter().map(|(name, _)| *name).collect();
    let listed: Vec<&str> = SCHEMAS.iter().map(|one| one.name).collect();
    assert_eq!(names, listed, "the wire names other documents");
    let beside = schemas.answered::<OrderedReport>();
    let mut all = schemas.into_map();
    schemas::give_items_shape(&mut all, "OrdersAnswer", "document", &beside);
    for (holder, fields) in ONLY_SOME {
        may_lack(&mut all, holder, fields);
    }
    named
        .into_iter()
        .map(|(name, root)| (name, text(&whole(&all, name, &root))))
        .collect()
}

/// Lets fields be left out.
fn may_lack(all: &mut Map<String, Value>, holder: &str, fields: &[&str]) {
    let required = all.get_mut(holder).and_then(|one| one.get_mut("required"));
    let required = required.and_then(Value::as_array_mut);
    let required = required.unwrap_or_else(|| panic!("{holder} requires nothing"));
    required.retain(|name| !fields.iter().any(|field| name == field));
}

fn text(schema: &Value) -> String {
    format!("{schema:#}\n")
}

/// A type with all types that it names, and with the version that a document carries.
fn whole(all: &Map<String, Value>, name: &str, root: &Value) -> Value {
    let root = root["$ref"]
        .as_str()
        .unwrap_or_else(|| panic!("{name} has no type of its own"));
    let root = root.trim_start_matches(COMPONENTS);
    let mut wanted = BTreeSet::from([root.to_owned()]);
    let mut reached = vec![root.to_owned()];
    if name == "report" {
        reached.push("Answer".to_owned());
        wanted.insert("Answer".to_owned());
    }
    while let Some(next) = reached.pop() {
        for found in references(&all[&next]) {
            if wanted.insert(found.clone()) {
                reached.push(found);
            }
        }
    }
    let mut document = all[root].clone();
    wanted.remove(root);
    let itself = wanted
        .iter()
        .any(|name| references(&all[name]).contains(root));
    assert!(!itself, "{root} holds itself");
    let fields = document["properties"].as_object_mut();
    let fields = fields.unwrap_or_else(|| panic!("{root} has no fields"));
    fields.insert(
        "version".to_owned(),
        json!({"const": DOCUMENTS, "description": "Version of the documents. A new key does not change it."}),
    );
    if name == "report" {
        fields.insert(
            "simulation".to_owned(),
            json!({
                "$ref": format!("{COMPONENTS}Answer"),
                "description": "The figures by simulation, where they were asked for.",
            }),
        );
    }
    let required = document["required"].as_array().cloned().unwrap_or_default();
    let mut required: Vec<Value> = required;
    required.push(json!("version"));
    let defs: Map<String, Value> = wanted
        .iter()
        .map(|name| (name.clone(), all[name].clone()))
        .collect();
    let mut schema = json!({
        "$schema": DIALECT,
        "$id": format!("benchhand:{name}:{DOCUMENTS}"),
        "title": name,
        "$defs": defs,
    });
    if let (Some(schema), Some(fields)) = (schema.as_object_mut(), document.as_object()) {
        schema.extend(fields.clone());
        schema.insert("required".to_owned(), Value::Array(required));
    }
    moved(&mut schema);
    schema
}

/// The names of the types that a schema names.
fn references(schema: &Value) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    match schema {
        Value::Object(fields) => {
            let reference = fields.get("$ref").and_then(Value::as_str);
            found.extend(
                reference
                    .and_then(|at| at.strip_prefix(COMPONENTS))
                    .map(str::to_owned),
            );
            found.extend(fields.values().flat_map(references));
        }
        Value::Array(items) => found.extend(items.iter().flat_map(references)),
        _ => {}
    }
    found
}

/// References lead to where the types stand in a schema that is whole in itself.
fn moved(schema: &mut Value) {
    match schema {
        Value::Object(fields) => {
            if let Some(Value::String(at)) = fields.get_mut("$ref") {
                *at = at.replace(COMPONENTS, DEFS);
            }
            fields.values_mut().for_each(moved);
        }
        Value::Array(items) => items.iter_mut().for_each(moved),
        _ => {}
    }
}
