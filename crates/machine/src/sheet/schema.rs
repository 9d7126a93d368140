//! JSON Schema and field reference of the sheet, generated from the types.

use super::Sheet;

/// JSON Schema (draft 2020-12) of the machine sheet, with the class names of the library filled in.
pub fn json_schema() -> serde_json::Value {
    let mut schema = serde_json::to_value(schemars::schema_for!(Sheet)).unwrap_or_default();
    let classes: Vec<_> = crate::library::CLASSES.iter().map(|c| serde_json::Value::from(c.name)).collect();
    if let Some(class) = schema.pointer_mut("/$defs/PartEntry/properties/class") {
        class["enum"] = classes.into();
    }
    schema["title"] = "halfsplit machine sheet, format 1".into();
    schema
}

/// The fields of the sheet as Markdown, one table per section, from the same schema.
pub fn reference() -> String {
    let schema = json_schema();
    let mut out = String::from(
        "# The machine sheet, field by field\n\nGenerated from the types; `halfsplit sheet fields` prints it.\n",
    );
    section(&mut out, "The whole sheet", &schema);
    if let Some(defs) = schema["$defs"].as_object() {
        for (name, def) in defs {
            if def.get("properties").is_some() {
                let heading = def["description"].as_str().unwrap_or(name).lines().next().unwrap_or(name);
                section(&mut out, heading, def);
            } else if let Some(options) = def["oneOf"].as_array() {
                out.push_str(&format!("\n## {}\n\n", def["description"].as_str().unwrap_or(name)));
                for o in options {
                    if let Some(word) = o["const"].as_str() {
                        out.push_str(&format!("- `{word}`: {}\n", o["description"].as_str().unwrap_or_default()));
                    }
                }
            }
        }
    }
    out
}

fn section(out: &mut String, heading: &str, def: &serde_json::Value) {
    let required: Vec<&str> = def["required"].as_array().into_iter().flatten().filter_map(|v| v.as_str()).collect();
    out.push_str(&format!("\n## {heading}\n\n| field | needed | meaning |\n|---|---|---|\n"));
    for (key, value) in def["properties"].as_object().into_iter().flatten() {
        let needed = if required.contains(&key.as_str()) { "yes" } else { "no" };
        let text = value["description"].as_str().unwrap_or_default().replace('\n', " ");
        out.push_str(&format!("| `{key}` | {needed} | {text} |\n"));
    }
}
