//! The schema files in `solver/schema` describe what the program writes.

use elbowroom::report::json::schemas;
use std::{fs, path::Path};

/// Set this to write the files anew after a deliberate change of a document.
const UPDATE: &str = "UPDATE_SCHEMA";

#[test]
fn the_schema_files_are_those_of_the_documents() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema");
    for (name, schema) in schemas() {
        let expected = format!("{:#}\n", schema.to_value());
        let path = folder.join(name);
        if std::env::var_os(UPDATE).is_some() {
            fs::write(&path, &expected).unwrap();
        }
        let found = fs::read_to_string(&path).unwrap_or_default();
        assert!(found == expected, "{name} is out of date; run the tests once with {UPDATE}=1 and review the change");
    }
}

#[test]
fn every_schema_file_belongs_to_a_document() {
    let known: Vec<_> = schemas().into_iter().map(|(name, _)| name.to_owned()).collect();
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("schema")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(known.contains(&name), "{name} describes nothing");
    }
}

#[test]
fn every_schema_is_strict() {
    for (name, schema) in schemas() {
        let validator = jsonschema::validator_for(&schema.to_value()).unwrap();
        assert!(!validator.is_valid(&serde_json::json!({})), "{name} accepts an empty document");
        let foreign = serde_json::json!({"format": "something else", "version": 1});
        assert!(!validator.is_valid(&foreign), "{name} accepts another format");
    }
}
