"""Static files in house mode: named by content, so that a browser keeps them until they change."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedFiles(CompressedManifestStaticFilesStorage):
    """Also rewrites the paths inside `import … from "./x.js"`, or modules would load stale neighbours."""

    support_js_module_import_aggregation = True
