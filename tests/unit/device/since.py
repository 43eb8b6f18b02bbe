"""Since which level of the Android API there is each class and member that our code names.

The stubs tell only what API 36 has. These levels are written from memory of Android's own reference; nothing here was
compared with its table of versions, which could not be had. What is not newer than our minimum is listed by class.
"""

LEAST = dict.fromkeys(
    (
        "android.R.id",
        "android.app.Activity",
        "android.content.ContentResolver",
        "android.content.Context",
        "android.content.ContextWrapper",
        "android.content.Intent",
        "android.content.pm.PackageManager",
        "android.content.res.Configuration",
        "android.content.res.Resources",
        "android.database.Cursor",
        "android.graphics.Rect",
        "android.net.Uri",
        "android.os.Build.VERSION",
        "android.os.LocaleList",
        "android.os.ParcelFileDescriptor",
        "android.provider.MediaStore",
        "android.provider.OpenableColumns",
        "android.provider.Settings.Global",
        "android.speech.tts.TextToSpeech",
        "android.speech.tts.TextToSpeech.OnInitListener",
        "android.view.ContextThemeWrapper",
        "android.view.View",
        "android.view.Window",
        "android.view.WindowInsets",
        "androidx.core.content.FileProvider",
        "java.io.File",
        "java.lang.Runnable",
        "java.lang.String",
        "java.util.ArrayList",
        "java.util.Locale",
    ),
    24,
)
"""Classes that our minimum has, with every member our code names but those in `SINCE`."""

SINCE = {
    "android.app.Activity.getOnBackInvokedDispatcher": 33,
    "android.window.OnBackInvokedCallback": 33,
    "android.window.OnBackInvokedDispatcher": 33,
    "android.window.OnBackInvokedDispatcher.PRIORITY_DEFAULT": 33,
    "android.window.OnBackInvokedDispatcher.registerOnBackInvokedCallback": 33,
    "android.window.OnBackInvokedDispatcher.unregisterOnBackInvokedCallback": 33,
    "android.provider.MediaStore.ACTION_PICK_IMAGES": 33,
    "android.content.res.Configuration.fontWeightAdjustment": 31,
    "android.content.res.Configuration.FONT_WEIGHT_ADJUSTMENT_UNDEFINED": 31,
    "android.view.WindowInsets.getInsets": 30,
    "android.view.WindowInsets.isVisible": 30,
    "android.view.WindowInsets.Type": 30,
    "android.view.WindowInsets.Type.ime": 30,
    "android.view.WindowInsets.Type.systemBars": 30,
    "android.view.WindowInsets.Type.displayCutout": 30,
    "android.graphics.Insets": 29,
    "android.graphics.Insets.left": 29,
    "android.graphics.Insets.top": 29,
    "android.graphics.Insets.right": 29,
    "android.graphics.Insets.bottom": 29,
}
"""What is newer than our minimum."""
