//! With the feature `app`: builds the web app and writes it down for embedding, plain and packed.

use std::path::PathBuf;
use std::{env, fs};

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets it"));
    let list = app(&out);
    fs::write(out.join("app.rs"), format!("&[{list}]")).expect("the build folder can be written");
}

#[cfg(not(feature = "app"))]
fn app(_: &std::path::Path) -> String {
    String::new()
}

#[cfg(feature = "app")]
fn app(out: &std::path::Path) -> String {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets it")).join("../..");
    let root = root.canonicalize().expect("the workspace is there");
    // One folder for every profile of the outer build, so that its work is done once.
    let work = root.join("target/web");
    fs::create_dir_all(&work).expect("the target folder can be written");
    let bundle = halfsplit_bundle::bundle(&root, &work).unwrap_or_else(|e| {
        eprintln!("{e}");
        std::process::exit(1)
    });
    let mut list = String::new();
    for (number, asset) in bundle.assets.iter().enumerate() {
        let plain = out.join(format!("asset-{number}"));
        let packed = out.join(format!("asset-{number}.br"));
        fs::write(&plain, &asset.bytes).expect("the build folder can be written");
        let zipped = out.join(format!("asset-{number}.gz"));
        let small = halfsplit_bundle::brotli(&asset.bytes).expect("compresses into memory");
        fs::write(&packed, small).expect("the build folder can be written");
        let small = halfsplit_bundle::gzip(&asset.bytes).expect("compresses into memory");
        fs::write(&zipped, small).expect("the build folder can be written");
        list.push_str(&format!(
            "Asset {{ path: {:?}, content_type: {:?}, immutable: {}, plain: include_bytes!({:?}), \
             brotli: include_bytes!({:?}), gzip: include_bytes!({:?}) }},\n",
            asset.path, asset.content_type, asset.immutable, plain, packed, zipped
        ));
    }
    for input in &bundle.inputs {
        println!("cargo::rerun-if-changed={}", input.display());
    }
    list
}
